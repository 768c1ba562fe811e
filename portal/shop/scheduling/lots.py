"""Lots: parts of one set that stand at the same stage and move together, and their way ahead.

Times are minutes on the floor's line of working time (`working_minutes`).
"""

import math
import zlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache, partial

from portal.craft.bakes import Schedule
from portal.shop.faults import BENCH_MINUTES, REDO_MIX, coats_kept, redo_from
from portal.shop.redo import Redo
from portal.shop.route import (
    EACH_COAT,
    FIRST,
    INSPECTION,
    OVEN,
    ROUTE,
    PartPlan,
    PartStage,
    StageKind,
    ahead,
)
from portal.shop.scheduling.bake_batches import batch_of
from portal.shop.scheduling.stations import PartWork, Stations, oven_share, plan_of

# minutes of waiting that outweigh one minute of work: who came earlier goes first, but the short
# before the long, which shortens what everybody waits
PATIENCE = 5.0
# the turn of a rush: behind what is urgent and what came back, before all that came in time
RUSHED = 1.0
HANGING = 6  # parts that are hung and carried together; common practice


@dataclass(frozen=True, slots=True)
class PartState:
    """One part of an open job: its work, where it stands, since when, how often it came back."""

    work: PartWork
    stage: PartStage
    coats_done: int
    since: datetime
    reworks: int = 0


@dataclass(frozen=True, slots=True)
class JobWork:
    """One open job for the forecast: its parts, its arrival, and its promise.

    `rush` means that the customer pays for going first. `booked` is False for a customer who is
    only expected: such a job stands for one in the mean, and each replication draws how many.
    """

    job_id: int
    parts: tuple[PartState, ...]
    arrives_at: datetime
    promise_at: datetime | None = None
    rush: bool = False
    booked: bool = True


@dataclass(frozen=True, slots=True)
class Op:
    """One visit of a lot to a station.

    `minutes` occupy a place; `after` is a wait behind it that occupies nobody. `batch` names
    what can share an oven load (see `batch_of`), `share` how much of one it takes; `colour` is
    the powder.
    `outside_days` is set on the outside strip alone.
    """

    station: PartStage
    minutes: float
    after: float = 0.0
    batch: int = 0
    share: float = 0.0
    colour: str = ""
    outside_days: int = 0


@dataclass(frozen=True, slots=True)
class RedoWay:
    """The visits of one part until it is inspected again, and the share that goes this way."""

    share: float
    ops: tuple[Op, ...]


@dataclass(slots=True)
class Lot:
    """Some parts of a job with the visits that are left to them.

    `job` is the index in the list of jobs; `stream` picks the lot's own row of chance, the same
    in every forecast, so that a forecast does not jitter when some other job moves. `first` lots
    came back from inspection and go before all others. `redo` has the ways of a part that
    inspection sends back, each with its share. `booked` as of the job; `group` is the stream that
    all lots of the job share.
    """

    job: int
    parts: int
    ops: tuple[Op, ...]
    promise: float
    ready: float
    stream: int
    since: float
    here: bool
    redo: tuple["RedoWay", ...]
    turn: float = 0.0
    first: bool = False
    booked: bool = True
    group: int = 0

    def leaves(self, visit: int) -> bool:
        """Tell whether an outside strip is still to come."""
        return any(op.station.leaves_the_house for op in self.ops[visit:])


@lru_cache(maxsize=4)
def _ways_on(stations: Stations) -> "_Ways":
    return _Ways(stations)


class _Ways:
    """The ways of works over the same stations, each found once: a forecast asks for them anew."""

    def __init__(self, stations: Stations) -> None:
        self.visits = lru_cache(maxsize=4_096)(partial(_visits, stations))
        self.redo = lru_cache(maxsize=1_024)(partial(_redo_ways, stations))


def visits(
    work: PartWork, stage: PartStage, done: int, count: int, stations: Stations
) -> tuple[Op, ...]:
    """Return the visits left to `count` equal parts that stand at `stage` with `done` coats."""
    return _ways_on(stations).visits(work, stage, done, count)


def redo_ways(work: PartWork, stations: Stations) -> tuple[RedoWay, ...]:
    """Return the ways of one part that inspection sends back, until it is inspected again."""
    return _ways_on(stations).redo(work)


def _visits(
    stations: Stations, work: PartWork, stage: PartStage, done: int, count: int
) -> tuple[Op, ...]:
    ops: list[Op] = []
    for at, coats in ahead(stage, plan_of(work), done):
        first = work.pre_bake_schedule
        if at is EACH_COAT[0] and stage.is_before(at) and first and not coats:
            ops.append(_bake(work, first, count, stations))
        if at.is_batch:
            ops.append(_bake(work, work.cure_of(coats).schedule, count, stations))
        elif at.by_hand:
            ops.append(_by_hand(work, at, coats, count, stations))
        elif at.leaves_the_house and work.outside_days:
            ops.append(Op(at, 0.0, outside_days=work.outside_days))
    return tuple(ops)


def _redo_ways(stations: Stations, work: PartWork) -> tuple[RedoWay, ...]:
    return tuple(RedoWay(share, _redo(work, redo, stations)) for redo, share in REDO_MIX.items())


def taken_again(stage: PartStage) -> float:
    """Return the share of the parts sent back by inspection that wait for hands at a stage."""
    before_gate = any(stage.is_before(one) for one in ROUTE if one.is_gate)
    if stage.row.kind is not StageKind.QUEUE or not before_gate:
        return 0.0
    # those that go to the bath come past the same stations as those that are blasted
    plan = PartPlan(strip=False, coats=1, refit=False)
    return sum(
        share for redo, share in REDO_MIX.items() if not stage.is_before(redo_from(redo, plan))
    )


def _redo(work: PartWork, redo: Redo, stations: Stations) -> tuple[Op, ...]:
    plan = plan_of(work)
    begin = redo_from(redo, plan)
    coats = coats_kept(INSPECTION, plan.coats, begin)
    first, *more = visits(work, begin, coats, 1, stations)
    ops = [replace(first, minutes=first.minutes + BENCH_MINUTES.get(redo, 0.0)), *more]
    gate = next(n for n, op in enumerate(ops) if op.station.is_gate)
    return tuple(ops[: gate + 1])


def lots_of(
    jobs: Iterable[JobWork], stations: Stations, at: Callable[[datetime], float], now: float
) -> list[Lot]:
    """Return the lots of all jobs, with their promise and readiness on the line `at`."""
    lots: list[Lot] = []
    ways = _ways_on(stations)
    for index, job in enumerate(jobs):
        alike: dict[tuple[str, PartStage, int, bool], list[PartState]] = {}
        for part in job.parts:
            if not part.stage.is_over:
                again = part.reworks > 0
                key = (part.work.set_key, part.stage, part.coats_done, again)
                alike.setdefault(key, []).append(part)
        promise = math.inf if job.promise_at is None else at(job.promise_at)
        coming = at(job.arrives_at)
        turn = turn_of(job, coming, standard_work(job, stations))
        group = stream_of(job.job_id, "", 0)
        for (set_key, stage, done, again), parts in alike.items():
            parts.sort(key=lambda part: part.since)
            expected = stage.is_before(FIRST)
            work = parts[0].work
            redo = ways.redo(work)
            for n in range(0, len(parts), HANGING):
                hung = parts[n : n + HANGING]
                lots.append(
                    Lot(
                        job=index,
                        parts=len(hung),
                        ops=ways.visits(work, stage, done, len(hung)),
                        promise=promise,
                        turn=turn,
                        ready=max(now, coming) if expected else now,
                        stream=stream_of(job.job_id, set_key, done) + 61 * n,
                        since=min(now, at(hung[-1].since)),
                        here=not expected,
                        redo=redo,
                        first=again,
                        booked=job.booked,
                        group=group,
                    )
                )
    return lots


def turn_of(job: JobWork, comes: float, work: float) -> float:
    """Return a job's place in the queues, the lowest first; `work` is its standard work."""
    return RUSHED if job.rush else comes + PATIENCE * work


def standard_work(job: JobWork, stations: Stations) -> float:
    """Return the minutes of standard work of a whole job in the house, wherever it stands."""
    oven = stations.oven
    total = 0.0
    sets: set[str] = set()
    for part in job.parts:
        work = part.work
        total += sum(work.minutes.values()) + sum(work.coat)
        if work.set_key not in sets:
            sets.add(work.set_key)
            total += sum(oven.heat_up + one.minutes + oven.cool_down for one in work.cures)
    return total


def stream_of(job_id: int, set_key: str, done: int) -> int:
    """Return a stable number for a lot's own chance."""
    return zlib.crc32(f"{job_id}/{set_key}/{done}".encode())


def _by_hand(work: PartWork, at: PartStage, coats: int, count: int, stations: Stations) -> Op:
    station = stations[at]
    colour = work.cure_of(coats).powder if at.uses_powder else ""
    return Op(at, work.minutes_at(at, coats, station) * count * station.pace, colour=colour)


def _bake(work: PartWork, bake: Schedule, count: int, stations: Stations) -> Op:
    oven = stations.oven
    share = count * oven_share(work, oven)
    loads = max(1, math.ceil(share - 1e-9))
    minutes = (oven.heat_up + bake.minutes) * loads * stations[OVEN].pace
    share = share if loads == 1 else 1.0
    return Op(OVEN, minutes, oven.cool_down, batch=batch_of(bake), share=share)
