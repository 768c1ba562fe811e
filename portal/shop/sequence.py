"""The order in which the floor takes its lots: earliest promise first, oven loads filled.

A plain walk through the events of one nominal run, with mean times. What it decides (who
precedes whom at each station, what shares an oven load, where the booth changes colour) is what
the floor page shows and what the forecast then replays with spread.
"""

import heapq
from bisect import insort
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from portal.shop.lots import Lot, Op
from portal.shop.moves import PartStage
from portal.shop.stations import Stations

LOOK = 24  # how far down a queue a station looks for the same colour or the same cure
# working minutes by which a promise may lie later and still go first to save a colour change
SAME_COLOUR = 120.0
# of a visit that has begun, at least this share is still to come
LEFT_AT_LEAST = 0.15


@dataclass(frozen=True, slots=True)
class Step:
    """One service: which lots (one, but for the oven), at their how-manieth visit.

    `change` is the colour change before it; `worked` the minutes done before we looked;
    `starts` when it starts in the nominal run.
    """

    station: PartStage
    lots: tuple[int, ...]
    visits: tuple[int, ...]
    minutes: float
    change: float
    worked: float
    starts: float


# when a lot that is ready for the outside strip comes back, on the line of working time
Away = Callable[[float, Op, Lot], float]


@dataclass(slots=True)
class _Bench:
    """A station during the walk: free places, queue in order of promise, colour in the booth."""

    free: int
    left_last: float
    queue: list[tuple[float, int, int]] = field(default_factory=list)
    colour: str = ""


class Walk:
    """One nominal run of the floor from `now`."""

    def __init__(self, lots: Sequence[Lot], stations: Stations, away: Away, now: float) -> None:
        self.lots = lots
        self.stations = stations
        self.away = away
        self.now = now
        self.steps: list[Step] = []
        left = _left_last(lots)
        self.benches = {
            one.key: _Bench(one.places, left.get(one.key, 0.0)) for one in stations.by_key
        }
        # (when, order, lot, visit) of an arrival, or (when, order, -1, station) of a freed place
        self._events: list[tuple[float, int, int, int]] = []
        self._keys = [one.key for one in stations.by_key]
        self._pushed = 0

    def run(self) -> list[Step]:
        """Return the services in the order in which they start."""
        for index, lot in enumerate(self.lots):
            if lot.ops:
                self._push(lot.ready, index, 0)
        while self._events:
            at = self._events[0][0]
            touched: set[PartStage] = set()
            # everything of one moment first, so that the earliest promise really wins
            while self._events and self._events[0][0] <= at:
                _, _, which, number = heapq.heappop(self._events)
                if which < 0:
                    self.benches[self._keys[number]].free += 1
                    touched.add(self._keys[number])
                else:
                    self._arrive(at, which, number, touched)
            for key in self._keys:
                if key in touched:
                    self._serve(at, key)
        return self.steps

    def _push(self, at: float, lot: int, number: int) -> None:
        self._pushed += 1
        heapq.heappush(self._events, (at, self._pushed, lot, number))

    def _arrive(self, at: float, index: int, visit: int, touched: set[PartStage]) -> None:
        lot = self.lots[index]
        if visit >= len(lot.ops):
            return
        op = lot.ops[visit]
        if op.station is PartStage.STRIP:
            self.steps.append(Step(op.station, (index,), (visit,), 0.0, 0.0, 0.0, at))
            self._push(self.away(at, op, lot), index, visit + 1)
            return
        insort(self.benches[op.station].queue, (lot.promise, index, visit))
        touched.add(op.station)

    def _serve(self, at: float, key: PartStage) -> None:
        bench = self.benches[key]
        while bench.free and bench.queue:
            bench.free -= 1
            taken, change = self._take(bench, key)
            ops = [self.lots[index].ops[visit] for _, index, visit in taken]
            minutes = max(op.minutes for op in ops)
            worked = self._worked(at, bench, taken, minutes)
            step = Step(
                key,
                tuple(index for _, index, _ in taken),
                tuple(visit for _, _, visit in taken),
                minutes,
                change,
                worked,
                at,
            )
            self.steps.append(step)
            end = at + change + minutes - worked
            self._push(end, -1, self._keys.index(key))
            for (_, index, visit), op in zip(taken, ops, strict=True):
                self._push(end + op.after, index, visit + 1)

    def _take(self, bench: _Bench, key: PartStage) -> tuple[list[tuple[float, int, int]], float]:
        if key is PartStage.CURE:
            return self._load(bench), 0.0
        if key is PartStage.COAT:
            return self._same_colour(bench)
        return [bench.queue.pop(0)], 0.0

    def _load(self, bench: _Bench) -> list[tuple[float, int, int]]:
        """Take the earliest promise and fill the load with what cures alike."""
        first = bench.queue.pop(0)
        lead = self._op(first)
        room = 1.0 - lead.share
        taken = [first]
        for one in bench.queue[:LOOK]:
            op = self._op(one)
            if op.share <= room and abs(op.batch - lead.batch) <= self.stations.oven.apart_c:
                room -= op.share
                taken.append(one)
        for one in taken[1:]:
            bench.queue.remove(one)
        return taken

    def _same_colour(self, bench: _Bench) -> tuple[list[tuple[float, int, int]], float]:
        """Take the earliest promise, or one of the same colour that is due hardly later."""
        pick = 0
        due = bench.queue[0][0]
        for n, one in enumerate(bench.queue[:LOOK]):
            if one[0] > due + SAME_COLOUR:
                break
            if self._op(one).colour == bench.colour:
                pick = n
                break
        taken = bench.queue.pop(pick)
        colour = self._op(taken).colour
        change = self.stations.colour_change if colour != bench.colour else 0.0
        bench.colour = colour
        return [taken], change

    def _worked(
        self, at: float, bench: _Bench, taken: list[tuple[float, int, int]], minutes: float
    ) -> float:
        _, index, visit = taken[0]
        lot = self.lots[index]
        if at > self.now or visit or not lot.here:
            return 0.0
        return min(at - max(lot.since, bench.left_last), (1 - LEFT_AT_LEAST) * minutes)

    def _op(self, one: tuple[float, int, int]) -> Op:
        return self.lots[one[1]].ops[one[2]]


_BEFORE = {
    PartStage.STRIP: (PartStage.PREP,),
    PartStage.BLAST: (PartStage.PREP,),
    PartStage.COAT: (PartStage.BLAST, PartStage.CURE),
    PartStage.CURE: (PartStage.COAT,),
    PartStage.INSPECT: (PartStage.CURE,),
    PartStage.REFIT: (PartStage.INSPECT,),
}


def _left_last(lots: Sequence[Lot]) -> dict[PartStage, float]:
    """Return when something last left each station, as far as the open lots tell."""
    left: dict[PartStage, float] = {}
    for lot in lots:
        if lot.here and lot.ops:
            for key in _BEFORE.get(lot.ops[0].station, ()):
                left[key] = max(left.get(key, 0.0), lot.since)
    return left
