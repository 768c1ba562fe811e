"""The floor replayed many times at once: the nominal order, with spread, rework and late runs.

Each array holds one value per replication. With `insertion`, the only module of the forecast that
needs numpy; its callers import it when they really forecast.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from portal.shop.route import PartStage
from portal.shop.scheduling.dispatch import DispatchStep
from portal.shop.scheduling.lots import Lot, taken_again
from portal.shop.scheduling.sim_inputs import Array, OwnTime, SimInputs, row

LOAD_WAITS = 20.0  # minutes that an oven load waits for a lot which is about to come
BLOCK = 64  # services whose times are drawn together: few enough to stay near the processor


@dataclass(slots=True)
class Record:
    """What one station did: per service its start and end, its lots, its contents.

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
    """The floor after a replay: when each lot is done, how long it waited, and the records.

    `ready` is lots × replications; `waits[lot]` holds mean minutes by station.
    """

    ground: SimInputs
    ready: Array
    waits: list[dict[PartStage, float]]
    records: dict[PartStage, Record]
    recorded: int


def replay(
    lots: Sequence[Lot], steps: Sequence[DispatchStep], ground: SimInputs, *, keep: int
) -> Replay:
    """Replay the nominal order; the services of `keep` replications stay on record."""
    count = ground.replications
    ready = np.empty((len(lots), count))
    ready[:] = np.array([lot.ready for lot in lots])[:, None]
    state = Replay(ground, ready, [{} for _ in lots], {}, min(keep, count))
    places = {
        one.key: StationPlaces(one.places, ground.now, count, ground.own.get(one.key))
        for one in ground.stations.by_key
    }
    services = Counter(one.station for one in steps)
    for key in places:
        room = (services[key] if keep else 0, state.recorded)
        state.records[key] = Record(np.empty(room), np.empty(room))
    slow = ground.slow_runs()
    draws = _Draws(lots, steps, ground)
    blocks = [steps[begin : begin + BLOCK] for begin in range(0, len(steps), BLOCK)]
    waits = _Waits(max((sum(len(one.lots) for one in block) for block in blocks), default=0), count)
    for n, block in enumerate(blocks):
        for step, (time, busy) in zip(block, draws.times(n * BLOCK), strict=True):
            if step.station.leaves_the_house:
                _strip(lots, step, state, slow)
                continue
            serve = _serve if len(step.lots) == 1 else _serve_load
            start, end = serve(lots, step, state, places[step.station], (time, busy), waits)
            if keep:
                _note(lots, step, state, start[:keep], end[:keep])
        waits.add_to(state.waits, block)
    return state


class _Draws:
    """The source of service times: a random row, mean and spread for each service."""

    def __init__(
        self, lots: Sequence[Lot], steps: Sequence[DispatchStep], ground: SimInputs
    ) -> None:
        self.ground = ground
        self.steps = steps
        rate = ground.stations.rework_rate
        # a part that comes back takes the stations again: their load grows by that share
        again = {one.key: 1 + rate * taken_again(one.key) for one in ground.stations.by_key}
        spread = {one.key: one.spread for one in ground.stations.by_key}
        # the times of single parts vary independently, so a lot's varies less
        less = [lot.parts**0.5 for lot in lots]
        self.rows = np.array([row(lots[one.lots[0]].stream, one.visits[0]) for one in steps])
        self.spreads = np.array(
            [
                spread.get(one.station, 0.0) / (1.0 if one.station.is_batch else less[one.lots[0]])
                for one in steps
            ]
        )
        self.means = np.array([one.minutes * again.get(one.station, 1.0) for one in steps])
        self.minutes = np.empty((min(BLOCK, len(steps)), ground.replications))
        expected = [n for n, lot in enumerate(lots) if not lot.booked]
        self.multiples = dict(
            zip(expected, ground.multiples([lots[n] for n in expected]), strict=True)
        )

    def times(self, begin: int) -> Iterator[tuple[Array, Array]]:
        """Yield for each service of a block its time, and its time with the colour change.

        Both are valid until the next block is drawn.
        """
        part = slice(begin, begin + BLOCK)
        factors = self.ground.factors(self.rows[part], self.spreads[part])
        times = self.minutes[: len(factors)]
        np.multiply(factors, self.means[part, None], out=times)
        for step, time in zip(self.steps[part], times, strict=True):
            if step.worked:
                np.maximum(time - step.worked, 0.15 * step.minutes, out=time)
            if step.lots[0] in self.multiples and (many := self._many(step)) is not None:
                often = time * many
                yield often, often + step.change * (many > 0) if step.change else often
            else:
                yield time, time + step.change if step.change else time

    def _many(self, step: DispatchStep) -> Array | None:
        """Return by how much a service of jobs that are only expected counts; None for once."""
        if not step.station.is_batch:
            alone: Array = self.multiples[step.lots[0]]
            return alone
        if any(one not in self.multiples for one in step.lots):
            return None
        # two such jobs share their load as well
        most: Array = np.maximum.reduce([self.multiples[one] for one in step.lots])
        return np.minimum(most, 1)


class _Waits:
    """How long the lots of a block of services waited, so that the means are taken at once."""

    def __init__(self, room: int, count: int) -> None:
        self.minutes = np.empty((room, count))
        self.noted = 0

    def note(self, start: Array, come: Array) -> None:
        """Record when the next lot, or the next load of lots, came and when it started."""
        if come.ndim == 1:
            np.subtract(start, come, out=self.minutes[self.noted])
            self.noted += 1
        else:
            np.subtract(start, come, out=self.minutes[self.noted : self.noted + len(come)])
            self.noted += len(come)

    def add_to(
        self, waits: Sequence[dict[PartStage, float]], block: Sequence[DispatchStep]
    ) -> None:
        """Add the mean waits of a block to what each lot waited before, and reset."""
        means = iter(np.maximum(self.minutes[: self.noted].mean(axis=1), 0.0).tolist())
        self.noted = 0
        for one in block:
            if not one.station.leaves_the_house:
                for index in one.lots:
                    own = waits[index]
                    own[one.station] = own.get(one.station, 0.0) + next(means)


def _strip(lots: Sequence[Lot], step: DispatchStep, state: Replay, slow: Array) -> None:
    index = step.lots[0]
    lot = lots[index]
    op = lot.ops[step.visits[0]]
    runs = state.ground.runs[op.outside_days]
    if lot.here and step.visits[0] == 0:  # it left before we looked
        left = np.full_like(state.ready[index], lot.since)
        state.ready[index] = runs.still_to_come(runs.back_from(left, slow), state.ground.now)
    else:
        state.ready[index] = runs.back_from(state.ready[index], slow)


def _serve(  # the state of the floor is what it is
    lots: Sequence[Lot],
    step: DispatchStep,
    state: Replay,
    place: "StationPlaces",
    times: tuple[Array, Array],
    waits: _Waits,
) -> tuple[Array, Array]:
    """Serve a lot that is alone; return when that starts and ends."""
    index = step.lots[0]
    come = state.ready[index]
    start, end = place.take(come, times[1])
    waits.note(start, come)
    op = lots[index].ops[step.visits[0]]
    done = end + op.after if op.after else end
    # how long somebody's rework takes who has not booked yet matters to nobody
    if op.station.is_gate and lots[index].booked:
        done = state.ground.after_inspection(lots[index], done)
    state.ready[index] = done
    return start, end


def _serve_load(  # as _serve
    lots: Sequence[Lot],
    step: DispatchStep,
    state: Replay,
    place: "StationPlaces",
    times: tuple[Array, Array],
    waits: _Waits,
) -> tuple[Array, Array]:
    """Serve lots that share an oven load; return when it starts and ends."""
    members = list(step.lots)
    come = state.ready[members]
    first: Array = np.minimum.reduce(come)
    last: Array = np.maximum.reduce(come)
    # a load does not wait long for a lot that is not there yet
    soon = np.maximum(first, place.first_free()) + LOAD_WAITS
    together = np.where(last > soon, first, last)
    start, end = place.take(together, times[1])
    waits.note(start, come)
    missed = come > start
    # who missed the load goes with a later one
    done = np.where(missed, come + times[0], end) if np.count_nonzero(missed) else [end] * len(come)
    for index, visit, own in zip(members, step.visits, done, strict=True):
        np.add(own, lots[index].ops[visit].after, out=state.ready[index])
    return start, end


class StationPlaces:
    """A station's places in every replication: when each is free, and the last idle gap.

    The nominal order is kept, but nobody waits for a lot that has not come: the next in the queue
    goes into the gap. A station with hours of its own counts in its own minutes (`own`): being
    closed is no gap, and what outlasts a gap delays the rest by what was worked, not by a night.
    """

    def __init__(self, number: int, now: float, count: int, own: OwnTime | None = None) -> None:
        self.own = own
        begin = np.full(count, now) if own is None else own.worked(np.full(count, now))
        self.free = [begin.copy() for _ in range(number)]
        self.gap_from, self.gap_to = begin.copy(), begin.copy()
        self.gap = np.zeros(count)

    def first_free(self) -> Array:
        """Return when the place that the next lot takes is free, on the floor's line."""
        free = self.free[0]
        return free if self.own is None else self.own.moments(free)

    def take(self, come: Array, busy: Array) -> tuple[Array, Array]:
        """Take the first place for a lot that arrives at `come`; return start and end."""
        own = self.own
        start, end = self._take(come if own is None else own.worked(come), busy)
        return (start, end) if own is None else (own.moments(start), own.moments(end))

    def _take(self, come: Array, busy: Array) -> tuple[Array, Array]:
        for n in range(1, len(self.free)):  # the place that is free first to the front
            first, other = self.free[0], self.free[n]
            self.free[0], self.free[n] = np.minimum(first, other), np.maximum(first, other)
        free = self.free[0]
        start = np.maximum(come, free)
        wider = start - free > self.gap
        early = np.maximum(come, self.gap_from)
        fits = early < self.gap_to
        # few lots find a gap and few leave a wider one: look before anything is written
        if not np.count_nonzero(fits):
            end = start + busy
            self.free[0] = end
        else:
            np.copyto(start, early, where=fits)
            end = start + busy
            # what begins in a gap and outlasts it pushes the rest back
            pushed = free + np.maximum(end - self.gap_to, 0.0)
            self.free[0] = np.where(fits, pushed, end)
            np.copyto(self.gap_from, end, where=fits)
            self.gap = self.gap_to - self.gap_from
            wider &= ~fits
        if np.count_nonzero(wider):
            np.copyto(self.gap_from, free, where=wider)
            np.copyto(self.gap_to, start, where=wider)
            self.gap = self.gap_to - self.gap_from
        return start, end


def _note(lots: Sequence[Lot], step: DispatchStep, state: Replay, start: Array, end: Array) -> None:
    record = state.records[step.station]
    ops = [lots[index].ops[visit] for index, visit in zip(step.lots, step.visits, strict=True)]
    record.starts[len(record.turn)], record.ends[len(record.turn)] = start, end
    record.turn.append(step.turn)
    record.batch.append(max(op.batch for op in ops))
    record.room.append(1.0 - sum(op.share for op in ops))
    record.colour.append(ops[0].colour)
