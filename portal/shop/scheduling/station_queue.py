"""The services of one station in a replayed floor, as arrays that are searched for candidates.

Arrays are services × replications, or windows × replications where candidates ask.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from portal.shop.scheduling.sim_inputs import Array, OwnTime
from portal.shop.scheduling.simulation import Record

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


@dataclass(frozen=True, slots=True)
class OwnService:
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


class StationQueue:
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
    def of(cls, kept: "QueueArrays", own: OwnTime | None) -> "StationQueue":
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

    def late_by(self, place: Array, own: OwnService) -> Array:
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
