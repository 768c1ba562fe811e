"""The floor replayed many times at once: the nominal order, with spread, rework and late runs.

Each array holds one value per replication. With `placing`, the only module of the forecast that
needs numpy; its callers import it when they really forecast.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from portal.shop.ground import Array, Ground, OwnTime, row
from portal.shop.lots import Lot
from portal.shop.moves import PartStage
from portal.shop.sequence import Step

LOAD_WAITS = 20.0  # minutes that an oven load waits for a lot which is about to come
BLOCK = 256  # services whose times are drawn together, which bounds the memory


@dataclass(slots=True)
class Record:
    """What one station did: per service its start and end, whose it was, what it holds.

    `starts` and `ends` are services × replications, filled from the top.
    """

    starts: Array
    ends: Array
    turn: list[float] = field(default_factory=list)
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
    kept: int


def replay(lots: Sequence[Lot], steps: Sequence[Step], ground: Ground, *, keep: int) -> Replay:
    """Replay the nominal order; the services of `keep` replications stay on record."""
    count = ground.replications
    rate = ground.stations.rework_rate
    # a part that comes back takes the stations again: their load grows by that share
    again = {PartStage.BLAST: 1 + rate, PartStage.COAT: 1 + rate}
    ready = [np.full(count, lot.ready) for lot in lots]
    state = Replay(ground, ready, [{} for _ in lots], {}, min(keep, count))
    places = {
        one.key: Place(one.places, ground.now, count, ground.own.get(one.key))
        for one in ground.stations.by_key
    }
    services = Counter(one.station for one in steps)
    for key in places:
        room = (services[key] if keep else 0, state.kept)
        state.records[key] = Record(np.empty(room), np.empty(room))
    slow = ground.slow_runs()
    for begin in range(0, len(steps), BLOCK):
        block = steps[begin : begin + BLOCK]
        times = _times(lots, block, ground, again)
        for n, step in enumerate(block):
            if step.station is PartStage.STRIP:
                _strip(lots, step, state, slow)
            else:
                _serve(lots, step, state, places[step.station], times[n], keep=keep)
    return state


def _times(
    lots: Sequence[Lot], block: Sequence[Step], ground: Ground, again: Mapping[PartStage, float]
) -> Array:
    rows = np.array([row(lots[one.lots[0]].stream, one.visits[0]) for one in block])
    spread = {one.key: one.spread for one in ground.stations.by_key}
    # the times of single parts vary independently, so a lot's varies less
    spreads = np.array(
        [
            spread.get(one.station, 0.0)
            / (1.0 if one.station is PartStage.CURE else lots[one.lots[0]].parts ** 0.5)
            for one in block
        ]
    )
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
    lots: Sequence[Lot], step: Step, state: Replay, place: "Place", time: Array, *, keep: int
) -> None:
    ready = state.ready
    come = [ready[index] for index in step.lots]
    together = come[0]
    if len(come) > 1:
        # a load does not wait long for a lot that is not there yet
        soon = np.maximum(np.minimum.reduce(come), place.first_free()) + LOAD_WAITS
        for one in come[1:]:
            together = np.maximum(together, one)
        together = np.where(together > soon, np.minimum.reduce(come), together)
    busy = time + step.change if step.change else time
    start, end = place.take(together, busy)
    if keep:
        _note(lots, step, state, start[:keep], end[:keep])
    for index, visit, one in zip(step.lots, step.visits, come, strict=True):
        waits = state.waits[index]
        waited = max(0.0, float((start - one).mean()))
        waits[step.station] = waits.get(step.station, 0.0) + waited
        op = lots[index].ops[visit]
        done = end
        if len(come) > 1:
            # who missed the load goes with a later one
            done = np.where(one > start, one + time, end)
        if op.after:
            done = done + op.after
        if op.station is PartStage.INSPECT:
            done = state.ground.after_inspection(lots[index], done)
        ready[index] = done


class Place:
    """A station's places in every replication: when each is free, and the last idle gap.

    The nominal order is kept, but nobody waits for a lot that has not come: who stands in the
    queue behind it goes into the gap. A station with hours of its own counts in its own minutes
    (`own`): a gap while it is shut is none, and what outlasts a gap pushes the rest back by what
    was worked, not by a night.
    """

    def __init__(self, number: int, now: float, count: int, own: OwnTime | None = None) -> None:
        self.own = own
        begin = np.full(count, now) if own is None else own.worked(np.full(count, now))
        self.free = [begin.copy() for _ in range(number)]
        self.gap_from, self.gap_to = begin.copy(), begin.copy()

    def first_free(self) -> Array:
        """Return when the place that the next lot takes is free, on the floor's line."""
        free = self.free[0]
        return free if self.own is None else self.own.moments(free)

    def take(self, come: Array, busy: Array) -> tuple[Array, Array]:
        """Take the first place for a lot that comes at `come`; return start and end."""
        own = self.own
        start, end = self._take(come if own is None else own.worked(come), busy)
        return (start, end) if own is None else (own.moments(start), own.moments(end))

    def _take(self, come: Array, busy: Array) -> tuple[Array, Array]:
        for n in range(1, len(self.free)):  # the place that is free first to the front
            first, other = self.free[0], self.free[n]
            self.free[0], self.free[n] = np.minimum(first, other), np.maximum(first, other)
        free = self.free[0]
        early = np.maximum(come, self.gap_from)
        start = np.maximum(come, free)
        fits = early < self.gap_to
        start = np.where(fits, early, start)
        end = start + busy
        # what begins in a gap and outlasts it pushes the rest back
        self.free[0] = np.where(fits, free + np.maximum(end - self.gap_to, 0.0), end)
        wider = ~fits & (start - free > self.gap_to - self.gap_from)
        self.gap_from = np.where(fits, end, np.where(wider, free, self.gap_from))
        self.gap_to = np.where(wider, start, self.gap_to)
        return start, end


def _note(lots: Sequence[Lot], step: Step, state: Replay, start: Array, end: Array) -> None:
    record = state.records[step.station]
    ops = [lots[index].ops[visit] for index, visit in zip(step.lots, step.visits, strict=True)]
    record.starts[len(record.turn)], record.ends[len(record.turn)] = start, end
    record.turn.append(step.turn)
    record.batch.append(max(op.batch for op in ops))
    record.room.append(1.0 - sum(op.share for op in ops))
    record.colour.append(ops[0].colour)
