"""Lots: parts of one set that stand at the same stage and move together, and their way ahead.

Times are minutes on the floor's line of working time (`open_time`).
"""

import math
import zlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from portal.shop.moves import PartStage
from portal.shop.stations import PartWork, Stations, oven_share

GONE = frozenset({PartStage.DONE, PartStage.GONE})


@dataclass(frozen=True, slots=True)
class PartState:
    """One part of an open job: its work, where it stands, since when."""

    work: PartWork
    stage: PartStage
    coats_done: int
    since: datetime


@dataclass(frozen=True, slots=True)
class JobWork:
    """One open job for the forecast: its parts, when it comes (or came), what was promised."""

    job_id: int
    parts: tuple[PartState, ...]
    arrives_at: datetime
    promise_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Op:
    """One visit of a lot to a station.

    `minutes` occupy a place; `after` is a wait behind it that occupies nobody. `batch` names
    what can share an oven load, `share` how much of one it takes; `colour` is the powder.
    `outside_days` is set on the outside strip alone.
    """

    station: PartStage
    minutes: float
    after: float = 0.0
    batch: int = 0
    share: float = 0.0
    colour: str = ""
    outside_days: int = 0


@dataclass(slots=True)
class Lot:
    """Some parts of a job with the visits that are left to them.

    `job` is the index in the list of jobs; `stream` picks the lot's own row of chance, the same
    in every forecast, so that a forecast does not jitter when some other job moves.
    """

    job: int
    parts: int
    ops: tuple[Op, ...]
    promise: float
    ready: float
    stream: int
    since: float
    here: bool
    redo: float


def visits(work: PartWork, stage: PartStage, done: int, count: int, stations: Stations) -> list[Op]:
    """Return the visits left to `count` equal parts that stand at `stage` with `done` coats."""
    ops: list[Op] = []
    if stage in GONE:
        return ops
    fresh = stage in {PartStage.EXPECTED, PartStage.PREP}
    if fresh:
        ops.append(_plain(PartStage.PREP, work.prep, count, stations))
    if work.outside_days and (fresh or stage is PartStage.STRIP):
        ops.append(Op(PartStage.STRIP, 0.0, outside_days=work.outside_days))
    bare = fresh or stage in {PartStage.STRIP, PartStage.BLAST}
    if bare:
        ops.append(_plain(PartStage.BLAST, work.blast, count, stations))
    if bare and work.pre_bake and done == 0:
        ops.append(_bake(work, work.pre_bake[0], work.pre_bake[1], count, stations))
    if bare or stage in {PartStage.COAT, PartStage.CURE}:
        ops += _coats(work, stage, done, count, stations)
    if stage is not PartStage.REFIT:
        ops.append(_plain(PartStage.INSPECT, work.inspect, count, stations))
    if work.refit:
        ops.append(_plain(PartStage.REFIT, work.refit, count, stations))
    return ops


def redo_minutes(work: PartWork, stations: Stations) -> float:
    """Return how long one part takes that inspection sends back, served first everywhere."""
    ops = visits(work, PartStage.BLAST, 0, 1, stations)
    inside = [op for op in ops if op.station is not PartStage.REFIT]
    # half a load passes on average before the oven can take it
    return sum(
        op.minutes * (1.5 if op.station is PartStage.CURE else 1.0) + op.after for op in inside
    )


def lots_of(
    jobs: Iterable[JobWork], stations: Stations, at: Callable[[datetime], float], now: float
) -> list[Lot]:
    """Return the lots of all jobs, with their promise and readiness on the line `at`."""
    lots: list[Lot] = []
    for index, job in enumerate(jobs):
        alike: dict[tuple[str, PartStage, int], list[PartState]] = {}
        for part in job.parts:
            if part.stage not in GONE:
                key = (part.work.set_key, part.stage, part.coats_done)
                alike.setdefault(key, []).append(part)
        promise = math.inf if job.promise_at is None else at(job.promise_at)
        coming = at(job.arrives_at)
        for (set_key, stage, done), parts in alike.items():
            first = parts[0]
            expected = stage is PartStage.EXPECTED
            lots.append(
                Lot(
                    job=index,
                    parts=len(parts),
                    ops=tuple(visits(first.work, stage, done, len(parts), stations)),
                    promise=promise,
                    ready=max(now, coming) if expected else now,
                    stream=stream_of(job.job_id, set_key, done),
                    since=min(now, max(at(part.since) for part in parts)),
                    here=not expected,
                    redo=redo_minutes(first.work, stations),
                )
            )
    return lots


def stream_of(job_id: int, set_key: str, done: int) -> int:
    """Return a stable number for a lot's own chance."""
    return zlib.crc32(f"{job_id}/{set_key}/{done}".encode())


def _plain(key: PartStage, minutes: float, count: int, stations: Stations) -> Op:
    return Op(key, minutes * count * stations[key].pace)


def _coats(work: PartWork, stage: PartStage, done: int, count: int, stations: Stations) -> list[Op]:
    ops: list[Op] = []
    pace = stations[PartStage.COAT].pace
    for n in range(done, len(work.coat)):
        cure = work.cures[n]
        if not (n == done and stage is PartStage.CURE):
            ops.append(Op(PartStage.COAT, work.coat[n] * count * pace, colour=cure.powder))
        ops.append(_bake(work, cure.cure_c, cure.minutes, count, stations))
    return ops


def _bake(work: PartWork, cure_c: int, hold: float, count: int, stations: Stations) -> Op:
    oven = stations.oven
    share = count * oven_share(work, oven)
    loads = max(1, math.ceil(share - 1e-9))
    minutes = (oven.heat_up + hold) * loads * stations[PartStage.CURE].pace
    return Op(
        PartStage.CURE, minutes, oven.cool_down, batch=cure_c, share=share if loads == 1 else 1.0
    )
