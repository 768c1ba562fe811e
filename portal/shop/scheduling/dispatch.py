"""The order in which the floor takes its lots, and how it fills the oven.

A promise that breaks unless its lot is taken soon goes first, the most urgent before the others.
Otherwise the earlier goes first, the short before the long; parts that came back from inspection
and parts that must catch a strip run go before all others.

A simulation of the events of one nominal run, with mean times. Its decisions (who precedes whom at
each station, what shares an oven load, where the booth changes colour) are what the floor page
shows and what the forecast then replays with spread.
"""

import heapq
import math
from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, Protocol

from portal.shop.route import COMES_FROM, PartStage
from portal.shop.scheduling.bake_batches import agree
from portal.shop.scheduling.lots import Lot, Op
from portal.shop.scheduling.stations import Stations

LOOK = 24  # how far down a queue a station looks for the same colour or the same cure
# a promise is urgent when less than this many times the way that is left lies before it
URGENT = 2.0
# how much later a lot's turn may be and still go first to save a colour change
SAME_COLOUR = 120.0
# of a visit that has begun, at least this share is still to come
LEFT_AT_LEAST = 0.15
FREED, OPENED = -1, -2
NOWHERE = -1


class DispatchStep(NamedTuple):
    """One service: its lots (one, except in the oven), and the index of each lot's visit.

    `change` is the colour change before it; `worked` the minutes done before `now`; `starts` when
    it starts in the nominal run; `turn` its priority, 0 for the urgent.
    """

    station: PartStage
    lots: tuple[int, ...]
    visits: tuple[int, ...]
    minutes: float
    change: float
    worked: float
    starts: float
    turn: float


class SimInputsLike(Protocol):
    """What the simulation asks about the calendar; all times on the working-time axis."""

    @property
    def now(self) -> float:
        """Return the present moment."""

    def away(self, ready: float, op: Op, lot: Lot) -> float:
        """Return when a lot that is ready for the outside strip comes back."""

    def opens(self, key: PartStage, at: float) -> float:
        """Return when a station works again, `at` itself while it does."""

    def stretch(self, key: PartStage) -> float:
        """Return how many minutes of the floor's time one minute of the station's takes."""

    def through(self, key: PartStage, start: float, minutes: float) -> float:
        """Return when a service ends that pauses while its station is closed."""

    def worked(self, key: PartStage, begun: float, until: float) -> float:
        """Return how long a station was open between two moments."""


# a lot in a queue: its turn, its number, its visit
Waiting = tuple[float, int, int]


@dataclass(slots=True)
class _Bench:
    """A station in the simulation: free places, queue by priority, colour in the booth.

    `risks` holds the same lots by the moment at which their promise becomes urgent. `stretch` is
    how many minutes of the floor's time one minute of the station's takes.
    """

    key: PartStage
    number: int
    places: int
    free: int
    stretch: float
    left_last: float
    queue: list[Waiting] = field(default_factory=list)
    risks: list[tuple[float, Waiting]] = field(default_factory=list)
    waiting: set[Waiting] = field(default_factory=set)
    colour: str = ""

    def add(self, one: Waiting, urgent_at: float) -> None:
        """Add a lot to the queue."""
        insort(self.queue, one)
        self.waiting.add(one)
        if urgent_at < math.inf:
            heapq.heappush(self.risks, (urgent_at, one))

    def first(self, at: float) -> tuple[Waiting, bool]:
        """Return the next lot, and whether it is next because of its promise."""
        while self.risks and self.risks[0][1] not in self.waiting:
            heapq.heappop(self.risks)
        if self.risks and self.risks[0][0] <= at:
            return self.risks[0][1], True
        return self.queue[0], False

    def remove(self, one: Waiting) -> None:
        del self.queue[bisect_left(self.queue, one)]
        self.waiting.remove(one)


class DispatchSimulation:
    """One nominal run of the floor from `now`."""

    def __init__(self, lots: Sequence[Lot], stations: Stations, ground: SimInputsLike) -> None:
        self.lots = lots
        self.stations = stations
        self.ground = ground
        self.now = ground.now
        self.steps: list[DispatchStep] = []
        left = _left_last(lots)
        self._benches = [
            _Bench(
                one.key, n, one.places, one.places, ground.stretch(one.key), left.get(one.key, 0.0)
            )
            for n, one in enumerate(stations.by_key)
        ]
        self._bench = {one.key: one for one in self._benches}
        # (when, order, lot, visit), or (when, order, FREED or OPENED, station)
        self._events: list[tuple[float, int, int, int]] = []
        # per job and station: minutes of its lots that nobody has taken up yet
        self._ahead: dict[tuple[int, PartStage], float] = defaultdict(float)
        # the visit with which each lot leaves the house for the last time
        self._leaves = [-1] * len(lots)
        for index, lot in enumerate(lots):
            for visit, op in enumerate(lot.ops):
                self._ahead[lot.job, op.station] += op.minutes
                if op.station.leaves_the_house:
                    self._leaves[index] = visit
        self._pushed = 0

    def run(self) -> list[DispatchStep]:
        """Return the services in the order in which they start."""
        for index, lot in enumerate(self.lots):
            if lot.ops:
                self._push(lot.ready, index, 0)
        while self._events:
            at = self._events[0][0]
            touched: set[int] = set()
            # everything of one moment first, so that the earliest promise really wins
            while self._events and self._events[0][0] <= at:
                _, _, which, number = heapq.heappop(self._events)
                if which >= 0:
                    number = self._arrive(at, which, number)
                elif which == FREED:
                    self._benches[number].free += 1
                touched.add(number)
            for number in sorted(touched):
                if number >= 0:
                    self._serve(at, self._benches[number])
        return self.steps

    def _push(self, at: float, lot: int, number: int) -> None:
        self._pushed += 1
        heapq.heappush(self._events, (at, self._pushed, lot, number))

    def _arrive(self, at: float, index: int, visit: int) -> int:
        """Queue a lot for its next visit; return the number of the station, -1 for none."""
        lot = self.lots[index]
        if visit >= len(lot.ops):
            return NOWHERE
        op = lot.ops[visit]
        if op.station.leaves_the_house:
            self.steps.append(DispatchStep(op.station, (index,), (visit,), 0.0, 0.0, 0.0, at, 0.0))
            self._push(self.ground.away(at, op, lot), index, visit + 1)
            return NOWHERE
        turn = 0.0 if lot.first or visit <= self._leaves[index] else lot.turn
        bench = self._bench[op.station]
        urgent_at = lot.promise
        if lot.promise < math.inf:
            urgent_at -= URGENT * self._way_left(lot, visit, bench)
        bench.add((turn, index, visit), urgent_at)
        return bench.number

    def _way_left(self, lot: Lot, visit: int, bench: _Bench) -> float:
        """Return the floor's minutes until a lot's whole job could be done, without any other job.

        Its own way, and what the job's other lots still need at the place at which it queues. A
        station that works half of the day takes twice its minutes.
        """
        key = bench.key
        own = way = 0.0
        for op in lot.ops[visit:]:
            if op.station is key:
                own += op.minutes
                way += op.minutes * bench.stretch + op.after
            else:
                other = self._bench.get(op.station)
                way += op.minutes * (other.stretch if other else 1.0) + op.after
        others = max(0.0, self._ahead[lot.job, key] - own)
        return way + others * bench.stretch / bench.places

    def _serve(self, at: float, bench: _Bench) -> None:
        if not bench.queue:
            return
        key, number = bench.key, bench.number
        if (opens := self.ground.opens(key, at)) > at:
            self._push(opens, OPENED, number)
            return
        while bench.free and bench.queue:
            bench.free -= 1
            first, urgent = bench.first(at)
            taken, change = self._take(bench, first)
            turns, lots, visits = zip(*taken, strict=True)
            ops = [self._op(one) for one in taken]
            minutes = max([op.minutes for op in ops])
            worked = self._worked(at, bench, taken[0], minutes)
            turn = 0.0 if urgent else turns[0]
            self.steps.append(DispatchStep(key, lots, visits, minutes, change, worked, at, turn))
            end = self.ground.through(key, at, change + minutes - worked)
            self._push(end, FREED, number)
            for index, visit, op in zip(lots, visits, ops, strict=True):
                self._ahead[self.lots[index].job, key] -= op.minutes
                self._push(end + op.after, index, visit + 1)

    def _take(self, bench: _Bench, first: Waiting) -> tuple[list[Waiting], float]:
        taken, change = [first], 0.0
        if bench.key.is_batch:
            taken = self._load(bench, first)
        elif bench.key.uses_powder:
            taken = [self._same_colour(bench, first)]
            colour = self._op(taken[0]).colour
            change = self.stations.colour_change if colour != bench.colour else 0.0
            bench.colour = colour
        for one in taken:
            bench.remove(one)
        return taken, change

    def _load(self, bench: _Bench, first: Waiting) -> list[Waiting]:
        """Fill the load of the first lot with lots of the same cure, by priority."""
        lead = self._op(first)
        room = 1.0 - lead.share
        taken = [first]
        for one in bench.queue[:LOOK]:
            op = self._op(one)
            alike = agree(op.batch, lead.batch, self.stations.oven.apart_c)
            if one != first and alike and op.share <= room:
                room -= op.share
                taken.append(one)
        return taken

    def _same_colour(self, bench: _Bench, first: Waiting) -> Waiting:
        """Return the first lot, or one of the booth's colour with nearly the same priority."""
        for one in bench.queue[:LOOK]:
            if one[0] > first[0] + SAME_COLOUR:
                break
            if self._op(one).colour == bench.colour:
                return one
        return first

    def _worked(self, at: float, bench: _Bench, first: Waiting, minutes: float) -> float:
        """Return the minutes already done on a lot in hand."""
        _, index, visit = first
        lot = self.lots[index]
        if visit or not lot.here or at > self.ground.opens(bench.key, self.now):
            return 0.0
        begun = max(lot.since, bench.left_last)
        return min(self.ground.worked(bench.key, begun, self.now), (1 - LEFT_AT_LEAST) * minutes)

    def _op(self, one: Waiting) -> Op:
        return self.lots[one[1]].ops[one[2]]


def _left_last(lots: Sequence[Lot]) -> dict[PartStage, float]:
    """Return when something last left each station, as far as the open lots show."""
    left: dict[PartStage, float] = {}
    for lot in lots:
        if lot.here and lot.ops:
            for key in COMES_FROM[lot.ops[0].station]:
                left[key] = max(left.get(key, lot.since), lot.since)
    return left
