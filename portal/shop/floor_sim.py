"""The floor replayed many times at once: the nominal order, with spread, rework and late runs.

Each array holds one value per replication. With `placing`, the only module of the forecast that
needs numpy; its callers import it when they really forecast.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from portal.shop.ground import Array, Ground, row
from portal.shop.lots import Lot, Op
from portal.shop.moves import PartStage
from portal.shop.sequence import Step

BLOCK = 256  # services whose times are drawn together, which bounds the memory


@dataclass(slots=True)
class Record:
    """What one station did: per service its start, when a place was free for it, whose it was."""

    starts: list[Array] = field(default_factory=list)
    free: list[Array] = field(default_factory=list)
    promise: list[float] = field(default_factory=list)
    batch: list[int] = field(default_factory=list)
    room: list[float] = field(default_factory=list)
    colour: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Replay:
    """The floor after a replay: `ready[lot]` when each lot is done, waits, and the records."""

    ground: Ground
    ready: list[Array]
    waits: list[dict[PartStage, float]]
    records: dict[PartStage, Record]
    last_free: dict[PartStage, Array]


def replay(lots: Sequence[Lot], steps: Sequence[Step], ground: Ground, *, keep: bool) -> Replay:
    """Replay the nominal order; with `keep` the stations' records stay for placing candidates."""
    count = ground.replications
    rate = ground.stations.rework_rate
    # a part that comes back takes the stations again: their load grows by that share
    again = {PartStage.BLAST: 1 + rate, PartStage.COAT: 1 + rate}
    ready = [np.full(count, lot.ready) for lot in lots]
    state = Replay(ground, ready, [{} for _ in lots], {}, {})
    places = {
        one.key: [np.full(count, ground.now) for _ in range(one.places)]
        for one in ground.stations.by_key
    }
    for key in places:
        state.records[key] = Record()
    slow = ground.slow_runs()
    for begin in range(0, len(steps), BLOCK):
        block = steps[begin : begin + BLOCK]
        times = _times(lots, block, ground, again)
        for n, step in enumerate(block):
            if step.station is PartStage.STRIP:
                _strip(lots, step, state, slow)
            else:
                _serve(lots, step, state, places[step.station], times[n], keep=keep)
    for key, free in places.items():
        state.last_free[key] = np.minimum.reduce(free)
    return state


def _times(
    lots: Sequence[Lot], block: Sequence[Step], ground: Ground, again: Mapping[PartStage, float]
) -> Array:
    rows = np.array([row(lots[one.lots[0]].stream, one.visits[0]) for one in block])
    spread = {one.key: one.spread for one in ground.stations.by_key}
    spreads = np.array([spread.get(one.station, 0.0) for one in block])
    means = np.array([one.minutes * again.get(one.station, 1.0) for one in block])
    times: Array = ground.factors(rows, spreads) * means[:, None]
    for n, one in enumerate(block):
        if one.worked:
            times[n] = np.maximum(times[n] - one.worked, 0.15 * one.minutes)
    return times


def _strip(lots: Sequence[Lot], step: Step, state: Replay, slow: Array) -> None:
    index = step.lots[0]
    lot = lots[index]
    op = lot.ops[step.visits[0]]
    runs = state.ground.runs[op.outside_days]
    if lot.here and step.visits[0] == 0:  # it left before we looked
        left = np.full_like(state.ready[index], lot.since)
        state.ready[index] = runs.still_to_come(runs.back_from(left, slow), state.ground.now)
    else:
        state.ready[index] = runs.back_from(state.ready[index], slow)


def _serve(
    lots: Sequence[Lot], step: Step, state: Replay, free: list[Array], time: Array, *, keep: bool
) -> None:
    ready = state.ready
    come = ready[step.lots[0]]
    for index in step.lots[1:]:
        come = np.maximum(come, ready[index])
    _earliest(free)
    start = np.maximum(come, free[0])
    if keep:
        _note(lots, step, state, start, free[0])
    waited = float((start - come).mean())
    for index in step.lots:
        waits = state.waits[index]
        waits[step.station] = waits.get(step.station, 0.0) + waited
    own = state.ground.own.get(step.station)
    busy = time + step.change
    end = start + busy if own is None else own.add(start, busy)
    free[0] = end
    for index, visit in zip(step.lots, step.visits, strict=True):
        op: Op = lots[index].ops[visit]
        done = end + op.after if op.after else end
        if op.station is PartStage.INSPECT:
            done = done + state.ground.redo(lots[index])
        ready[index] = done


def _earliest(free: list[Array]) -> None:
    """Bring the place that is free first, replication by replication, to the front."""
    for n in range(1, len(free)):
        first, other = free[0], free[n]
        free[0], free[n] = np.minimum(first, other), np.maximum(first, other)


def _note(lots: Sequence[Lot], step: Step, state: Replay, start: Array, free: Array) -> None:
    record = state.records[step.station]
    ops = [lots[index].ops[visit] for index, visit in zip(step.lots, step.visits, strict=True)]
    record.starts.append(start)
    record.free.append(free)
    record.promise.append(lots[step.lots[0]].promise)
    record.batch.append(max(op.batch for op in ops))
    record.room.append(1.0 - sum(op.share for op in ops))
    record.colour.append(ops[0].colour)
