"""A candidate placed into a floor that was replayed before: when would it be done?

Arrays are windows × replications. The candidate goes in front of the first service that has not
started when it comes and whose promise is later than its own; it joins an oven load that has
room for it and the same cure.
"""

from collections.abc import Sequence

import numpy as np

from portal.shop.floor_sim import Record, Replay
from portal.shop.ground import Array, row
from portal.shop.lots import Lot, Op
from portal.shop.moves import PartStage

APART = 1e8  # further apart than any two moments on the line


class _Shelf:
    """A station's record as arrays that can be searched for all windows at once."""

    def __init__(self, record: Record, last_free: Array, columns: int) -> None:
        count = len(record.starts)
        self.count = count
        self.free = np.empty((count + 1, columns))
        for n, one in enumerate(record.free):
            self.free[n] = one[:columns]
        self.free[count] = last_free[:columns]
        self.starts = np.empty((count + 1, columns))
        for n, one in enumerate(record.starts):
            self.starts[n] = one[:columns]
        self.starts[count] = np.inf
        # services start in order, but for a few on several places: keep the search sound
        ordered = np.maximum.accumulate(self.starts[:count], axis=0)
        self.offset = np.arange(columns) * APART
        self.flat = (ordered + self.offset).T.ravel()
        self.column = np.arange(columns)
        self.promise = np.array(record.promise)
        self.batch = np.array(record.batch)
        self.room = np.array(record.room)
        self.colour = np.array([*record.colour, ""], dtype=object)

    def turn(self, ready: Array, promise: Array, allowed: Array) -> Array:
        """Return before which service each candidate has its turn, `count` for after all."""
        if not self.count:
            return np.zeros(ready.shape, dtype=int)
        first = np.searchsorted(self.flat, ready + self.offset) - self.column * self.count
        later = (self.promise[None, :] > promise[:, None]) | allowed[None, :]
        places = np.where(later, np.arange(self.count), self.count)
        following = np.minimum.accumulate(places[:, ::-1], axis=1)[:, ::-1]
        ends = np.full((len(promise), 1), self.count)
        following = np.concatenate([following, ends], axis=1)
        return np.take_along_axis(following, first, axis=1)


class Placing:
    """A replayed floor that answers for candidates; it is not changed by them."""

    def __init__(self, floor: Replay, columns: int) -> None:
        self.floor = floor
        self.columns = min(columns, floor.ground.replications)
        self.shelves = {
            key: _Shelf(record, floor.last_free[key], self.columns)
            for key, record in floor.records.items()
        }

    def done(self, lots: Sequence[Lot], arrive: Array, promise: Array) -> Array:
        """Return when the whole candidate is done, for each arrival and assumed promise."""
        ground = self.floor.ground
        slow = ground.slow_runs()[:, : self.columns]
        busy: dict[PartStage, Array] = {}
        whole = np.zeros((len(arrive), self.columns))
        for lot in lots:
            at = np.repeat(arrive[:, None], self.columns, axis=1)
            for visit, op in enumerate(lot.ops):
                if op.station is PartStage.STRIP:
                    at = ground.runs[op.outside_days].back_from(at, slow)
                    continue
                at = self._visit(op, row(lot.stream, visit), at, promise, busy)
                if op.station is PartStage.INSPECT:
                    at = at + ground.redo(lot)[: self.columns]
            whole = np.maximum(whole, at)
        return whole

    def _visit(
        self, op: Op, chance_row: int, ready: Array, promise: Array, busy: dict[PartStage, Array]
    ) -> Array:
        ground = self.floor.ground
        shelf = self.shelves[op.station]
        station = ground.stations[op.station]
        allowed = self._joins(op, shelf)
        turn = shelf.turn(ready, promise, allowed)
        start = np.maximum(ready, shelf.free[turn, shelf.column])
        if allowed.any():
            joined = np.append(allowed, values=False)[turn]
            start = np.where(joined, shelf.starts[turn, shelf.column], start)
        if op.station in busy and station.places == 1:
            start = np.maximum(start, busy[op.station])
        factor = ground.factors(np.array([chance_row]), np.array([station.spread]))
        minutes = op.minutes * factor[0, : self.columns]
        if op.station is PartStage.COAT and shelf.count:
            before = shelf.colour[np.maximum(turn, 1) - 1]
            minutes = minutes + np.where(before == op.colour, 0.0, ground.stations.colour_change)
        own = ground.own.get(op.station)
        end = start + minutes if own is None else own.add(start, minutes)
        busy[op.station] = end
        return end + op.after

    def _joins(self, op: Op, shelf: _Shelf) -> Array:
        if op.station is not PartStage.CURE:
            return np.zeros(shelf.count, dtype=bool)
        apart = self.floor.ground.stations.oven.apart_c
        alike: Array = (np.abs(shelf.batch - op.batch) <= apart) & (shelf.room >= op.share)
        return alike
