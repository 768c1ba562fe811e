"""Inserts a candidate into a floor that was replayed before: when would it be done?

Arrays are windows × replications. The candidate goes before the first service that has not started
when it arrives and that has a lower priority, or into a gap in which a place is idle; it joins an
oven load that has room for it and the same cure. A station with hours of its own is searched on the
axis of its own minutes, on which being closed is not being idle. Whatever is queued behind a
service of the candidate is late by it when its next one is inserted.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from portal.shop.route import PartStage
from portal.shop.scheduling.bake_batches import agree
from portal.shop.scheduling.lots import Lot, Op
from portal.shop.scheduling.sim_inputs import Array, OwnTime, SimInputs, row
from portal.shop.scheduling.simulation import Record, Replay

APART = 1e7  # further apart than any two moments on the line
AT_ONCE = 1e-3  # what starts at the very moment at which somebody comes has not started


class QueueArrays(NamedTuple):
    """What a station's queue is made from, as arrays that can be kept.

    `flat` has the starts of all replications one after the other, `free` when a place is free for
    each service and after all; `idle` the bits that say before which services one stood idle.
    """

    flat: Array
    free: Array
    idle: Array
    turns: Array
    batch: Array
    room: Array
    colour: Array


class _StationQueue:
    """A station's record as arrays that can be searched for all windows at once.

    Its times are minutes of the floor, or the station's own where it has hours of its own.
    """

    def __init__(  # what a record is read with
        self, record: Record, places: int, now: float, columns: int, own: OwnTime | None
    ) -> None:
        self.own = own
        starts, ends = self.line(record.starts), self.line(record.ends)
        # who filled a gap stands late in the record: bring each replication in order of time
        order = np.argsort(starts, axis=0, kind="stable")
        starts = np.take_along_axis(starts, order, axis=0)
        begin = float(self.line(np.array(now)))
        free = _free(np.take_along_axis(ends, order, axis=0), places, begin)
        # a place that was idle before a service is taken by whichever lot has arrived
        idle = np.ones(free.shape, dtype=bool)
        idle[:-1] = starts > free[:-1] + AT_ONCE
        # the starts of all replications one after the other, in one row that can be searched
        flat = (starts + np.arange(columns) * APART).T.ravel()
        self.kept = QueueArrays(
            flat,
            free,
            np.packbits(idle),
            np.array(record.turn),
            np.array(record.batch),
            np.array(record.room),
            np.array(record.colour),
        )
        self._read(self.kept)

    @classmethod
    def of(cls, kept: "QueueArrays", own: OwnTime | None) -> "_StationQueue":
        """Return the queue that was kept as arrays."""
        made = cls.__new__(cls)
        made.own, made.kept = own, kept
        made._read(kept)
        return made

    def _read(self, kept: "QueueArrays") -> None:
        self.flat, self.free = kept.flat, kept.free
        self.turns, self.batch, self.room = kept.turns, kept.batch, kept.room
        count, columns = len(kept.turns), kept.free.shape[1]
        self.count = count
        self.column = np.arange(columns)
        self.offset = self.column * APART
        self.colour = np.array([*kept.colour.tolist(), ""], dtype=object)
        idle = np.unpackbits(kept.idle, count=kept.free.size).reshape(kept.free.shape)
        number = np.arange(count + 1, dtype=np.int32)[:, None]
        gaps = np.where(idle, number, np.int32(count))
        self.next_gap = np.minimum.accumulate(gaps[::-1], axis=0)[::-1]

    def line(self, at: Array) -> Array:
        """Return moments of the floor's axis on the station's."""
        return at if self.own is None else self.own.worked(at)

    def moments(self, at: Array) -> Array:
        """Return moments of the station's axis on the floor's."""
        return at if self.own is None else self.own.moments(at)

    def start(self, place: Array) -> Array:
        """Return when services start; `place` is their index, the last where there is none."""
        row = np.minimum(place, self.count - 1)
        found: Array = np.round(self.flat[self.column * self.count + row] - self.offset, 3)
        return found

    def idle(self, place: Array) -> Array:
        """Return whether a place was idle before a service."""
        gap: Array = self.next_gap[place, self.column] == place
        return gap

    @cached_property
    def stood(self) -> Array:
        """Return how long a place has been idle before each service, in total.

        Only candidates that visit a station twice need it, so it is computed for the first of them.
        """
        found = np.zeros((self.count + 1, len(self.column)))
        idle = found[1:]
        np.subtract(self.flat.reshape(len(self.column), self.count).T, self.offset, out=idle)
        idle -= self.free[: self.count]
        np.cumsum(idle, axis=0, out=idle)
        return found

    def late_by(self, place: Array, own: "_Own") -> Array:
        """Return by how much a service at `place` is late because of the candidate's `own`.

        Idle time between the two absorbs the delay.
        """
        behind = np.minimum(own.place + 1, self.count)
        stood = self.stood[place, self.column] - self.stood[behind, self.column]
        late = np.maximum(own.push - np.maximum(stood, 0.0), 0.0)
        return np.where(place >= own.place, late, 0.0)

    def first(self, ready: Array) -> Array:
        """Return the first service that has not started when the candidate is ready."""
        found: Array = np.searchsorted(self.flat, ready - AT_ONCE + self.offset)
        return found - self.column * self.count

    def place(self, ready: Array, turn: Array, allowed: Array) -> Array:
        """Return before which service each candidate is served, `count` for after all."""
        if not self.count:
            return np.zeros(ready.shape, dtype=int)
        first = self.first(ready)
        later = (self.turns[None, :] > turn[:, None]) | allowed[None, :]
        places = np.where(later, np.arange(self.count), self.count)
        following = np.minimum.accumulate(places[:, ::-1], axis=1)[:, ::-1]
        ends = np.full((len(turn), 1), self.count)
        following = np.concatenate([following, ends], axis=1)
        place = np.take_along_axis(following, first, axis=1)
        # what begins at the very moment when it comes (a shut station opens) leaves it no gap
        begins = self.flat[self.column * self.count + np.minimum(first, self.count - 1)]
        none = begins <= ready + AT_ONCE + self.offset
        gap = self.next_gap[np.minimum(first + none, self.count), self.column]
        found: Array = np.minimum(place, gap)
        return found


def _free(ends: Array, places: int, now: float) -> Array:
    """Return when a place is free for each service in turn, and after all of them."""
    first = np.full((places, ends.shape[1]), now)
    if places == 1:
        return np.maximum.accumulate(np.concatenate([first, ends]), axis=0)
    free = np.empty((len(ends) + 1, ends.shape[1]))
    for n, end in enumerate(ends):
        free[n] = first.min(axis=0)
        first[first.argmin(axis=0), np.arange(ends.shape[1])] = end
    free[len(ends)] = first.min(axis=0)
    return free


@dataclass(frozen=True, slots=True)
class _Own:
    """A service of the candidate itself: its other lots wait for it, or share its load.

    It is inserted before the service at `place`, which it delays by `push`.
    """

    start: Array
    end: Array
    room: Array
    batch: int
    colour: str
    place: Array
    push: Array


@dataclass(frozen=True, slots=True)
class _Slot:
    """Where a lot gets into a queue: before the service at `place`, which is `late` by then.

    `joined` where it shares the oven load of that service.
    """

    place: Array
    late: Array
    joined: Array
    start: Array


def _service(op: Op, start: Array, end: Array, place: Array) -> _Own:
    room = np.full(start.shape, 1.0 - op.share)
    return _Own(start, end, room, op.batch, op.colour, place, np.zeros(place.shape))


def _with_own_load(op: Op, own: Sequence[_Own], ready: Array, alone: _Own) -> _Own:
    """Return the service in the load of the candidate's last one, where it is ready and fits."""
    if not op.station.is_batch or not own or own[-1].batch != op.batch:
        return alone
    last = own[-1]
    shared = (ready <= last.start) & (last.room >= op.share)
    return replace(
        alone,
        start=np.where(shared, last.start, alone.start),
        end=np.where(shared, last.end, alone.end),
        room=np.where(shared, last.room - op.share, alone.room),
        place=np.where(shared, last.place, alone.place),
    )


_Taken = defaultdict[PartStage, list[_Own]]


class Insertion:
    """A replayed floor that answers for candidates; they don't change it."""

    def __init__(self, floor: Replay) -> None:
        self.floor = floor
        self.columns = floor.recorded
        self._queues: dict[PartStage, _StationQueue] = {}
        if self.columns:
            for key in list(floor.records):
                # what a queue holds is not kept twice: a large floor has many services
                self._queues[key] = self._made(key, floor.records.pop(key))

    def arrays(self) -> dict[PartStage, QueueArrays]:
        """Return what can be kept of the floor, by station."""
        return {key: queue.kept for key, queue in self._queues.items()}

    def starts(self, key: PartStage, columns: int) -> Array:
        """Return when services of a station start, on the floor's line, in some replications."""
        queue = self._queues.get(key)
        if queue is None or not queue.count:
            return np.empty(0)
        columns = min(columns, self.columns)
        flat = queue.flat[: columns * queue.count].reshape(columns, queue.count)
        starts: Array = queue.moments(flat - queue.offset[:columns, None]).ravel()
        return starts

    @classmethod
    def of(cls, arrays: Mapping[PartStage, QueueArrays], sim: SimInputs) -> "Insertion":
        """Return the floor that was kept as arrays."""
        columns = next((len(one.free[0]) for one in arrays.values()), 0)
        made = cls(Replay(sim, np.empty((0, columns)), [], {}, columns))
        for key, kept in arrays.items():
            made._queues[key] = _StationQueue.of(kept, sim.own.get(key))
        return made

    def _made(self, key: PartStage, record: Record) -> _StationQueue:
        sim = self.floor.sim
        places = sim.stations[key].places
        return _StationQueue(record, places, sim.now, self.columns, sim.own.get(key))

    def done(self, lots: Sequence[Lot], arrive: Array, turns: Array) -> Array:
        """Return when the whole candidate is done, for each arrival with its priority."""
        sim = self.floor.sim
        slow = sim.slow_runs()[:, : self.columns]
        own: _Taken = defaultdict(list)
        at = [np.repeat(arrive[:, None], self.columns, axis=1) for _ in lots]
        # visit by visit, as its lots move on the floor: none waits for another's second coat
        for visit in range(max(len(lot.ops) for lot in lots)):
            for n, lot in enumerate(lots):
                if visit < len(lot.ops):
                    at[n] = self._next(lot, visit, at[n], turns, own, slow)
        whole: Array = np.maximum.reduce(at)
        return whole

    def _next(
        self, lot: Lot, visit: int, at: Array, turns: Array, own: _Taken, slow: Array
    ) -> Array:
        """Return when a lot that is ready for a visit has finished it."""
        sim, op = self.floor.sim, lot.ops[visit]
        if op.station.leaves_the_house:
            return sim.runs[op.outside_days].back_from(at, slow)
        # what must catch a strip run goes first
        turn = 0.0 * turns if lot.leaves(visit) else turns
        done = self._visit(op, self._minutes(lot, visit), at, turn, own[op.station])
        return sim.after_inspection(lot, done) if op.station.is_gate else done

    def _minutes(self, lot: Lot, visit: int) -> Array:
        op = lot.ops[visit]
        sim = self.floor.sim
        spread = sim.stations[op.station].spread
        if not op.station.is_batch:
            spread /= lot.parts**0.5
        rows = np.array([row(lot.stream, visit)])
        factor: Array = sim.factors(rows, np.array([spread]))[0, : self.columns]
        return op.minutes * factor

    def _visit(self, op: Op, minutes: Array, ready: Array, turn: Array, own: list["_Own"]) -> Array:
        queue = self._queues[op.station]
        places = self.floor.sim.stations[op.station].places
        ready = queue.line(ready)
        if len(own) >= places and not op.station.is_batch:
            # its next lot is chosen when the one before it is done, among all that has come by then
            ready = np.maximum(ready, own[-places].end)
        last = own[-1] if own and places == 1 and queue.count else None
        slot = self._slot(op, queue, ready, turn, last)
        start = slot.start
        if len(own) >= places:
            start = np.maximum(start, own[-places].end)
        end = start + minutes + self._colour_change(op, queue, slot.place, last)
        service = _with_own_load(op, own, ready, _service(op, start, end, slot.place))
        if queue.count:
            late = np.maximum(service.end - queue.start(service.place), 0.0)
            service = replace(service, push=np.where(slot.joined, slot.late, late))
        own.append(service)
        return queue.moments(service.end) + op.after

    def _slot(
        self, op: Op, queue: _StationQueue, ready: Array, turn: Array, last: "_Own | None"
    ) -> "_Slot":
        """Return where a lot gets into the queue, `last` being its own service there before."""
        allowed = self._joins(op, queue)
        # the services behind its last one are late by it: seen from them, it comes so much earlier
        ahead = 0.0 if last is None else queue.late_by(queue.first(ready - last.push), last)
        place = queue.place(ready - ahead, turn, allowed)
        late = np.zeros(place.shape) if last is None else queue.late_by(place, last)
        start = np.maximum(ready, queue.free[place, queue.column] + late)
        joined = np.zeros(place.shape, dtype=bool)
        if allowed.any():
            # an oven that stands idle is not kept waiting for a later load
            joined = np.append(allowed, values=False)[place] & ~queue.idle(place)
            start = np.where(joined, queue.start(place) + late, start)
        return _Slot(place, late, joined, start)

    def _colour_change(
        self, op: Op, queue: _StationQueue, place: Array, last: "_Own | None"
    ) -> Array | float:
        """Return the minutes for a change of colour before a service at `place`."""
        if not op.station.uses_powder or not queue.count:
            return 0.0
        before = queue.colour[np.maximum(place, 1) - 1]
        if last is not None:
            before = np.where(place > last.place, before, last.colour)
        return np.where(before == op.colour, 0.0, self.floor.sim.stations.colour_change)

    def _joins(self, op: Op, queue: _StationQueue) -> Array:
        if not op.station.is_batch:
            return np.zeros(queue.count, dtype=bool)
        apart = self.floor.sim.stations.oven.apart_c
        alike: Array = agree(queue.batch, op.batch, apart) & (queue.room >= op.share)
        return alike
