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

import numpy as np

from portal.shop.route import PartStage
from portal.shop.scheduling.bake_batches import agree
from portal.shop.scheduling.lots import Lot, Op
from portal.shop.scheduling.sim_inputs import Array, SimInputs, row
from portal.shop.scheduling.simulation import Record, Replay
from portal.shop.scheduling.station_queue import OwnService, QueueArrays, StationQueue


@dataclass(frozen=True, slots=True)
class _Slot:
    """Where a lot gets into a queue: before the service at `place`, which is `late` by then.

    `joined` where it shares the oven load of that service.
    """

    place: Array
    late: Array
    joined: Array
    start: Array


def _service(op: Op, start: Array, end: Array, place: Array) -> OwnService:
    room = np.full(start.shape, 1.0 - op.share)
    return OwnService(start, end, room, op.batch, op.colour, place, np.zeros(place.shape))


def _with_own_load(
    op: Op, own: Sequence[OwnService], ready: Array, alone: OwnService
) -> OwnService:
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


_Taken = defaultdict[PartStage, list[OwnService]]


class Insertion:
    """A replayed floor that answers for candidates; they don't change it."""

    def __init__(self, floor: Replay) -> None:
        self.floor = floor
        self.columns = floor.recorded
        self._queues: dict[PartStage, StationQueue] = {}
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
            made._queues[key] = StationQueue.of(kept, sim.own.get(key))
        return made

    def _made(self, key: PartStage, record: Record) -> StationQueue:
        sim = self.floor.sim
        places = sim.stations[key].places
        return StationQueue(record, places, sim.now, self.columns, sim.own.get(key))

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

    def _visit(
        self, op: Op, minutes: Array, ready: Array, turn: Array, own: list[OwnService]
    ) -> Array:
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
        self, op: Op, queue: StationQueue, ready: Array, turn: Array, last: OwnService | None
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
        self, op: Op, queue: StationQueue, place: Array, last: OwnService | None
    ) -> Array | float:
        """Return the minutes for a change of colour before a service at `place`."""
        if not op.station.uses_powder or not queue.count:
            return 0.0
        before = queue.colour[np.maximum(place, 1) - 1]
        if last is not None:
            before = np.where(place > last.place, before, last.colour)
        return np.where(before == op.colour, 0.0, self.floor.sim.stations.colour_change)

    def _joins(self, op: Op, queue: StationQueue) -> Array:
        if not op.station.is_batch:
            return np.zeros(queue.count, dtype=bool)
        apart = self.floor.sim.stations.oven.apart_c
        alike: Array = agree(queue.batch, op.batch, apart) & (queue.room >= op.share)
        return alike
