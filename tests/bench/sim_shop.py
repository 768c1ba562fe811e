"""A coating works in SimPy, to test promises against: it uses nothing of the forecaster's code.

Its floor follows the same house rules as the real one: what inspection sent back, what must
catch a strip run and promises about to break go first, then the earlier and the shorter; the
booth saves colour changes between neighbours; the oven takes what cures alike. `by_due` makes it
follow due dates alone, as the textbook rules want it.
"""

import random
from bisect import bisect_left, insort
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import simpy

from tests.bench.sim_orders import DAY, WEEK, House, Lot, Order, World

STAGES = ("prep", "strip", "blast", "coat", "cure", "inspect", "refit")
HANGING = 6  # parts that move together
PATIENCE = 5.0  # minutes of waiting that outweigh one of work
URGENT = 2.0  # a promise is urgent when less than so much of the work left lies before it
SAME_COLOUR = 120.0
Entry = tuple[float, int, Lot]
Quote = Callable[["Shop", Order], float]


@dataclass(frozen=True)
class Stayed:
    """What the shop's own records say of one lot at one station."""

    key: str
    order: int
    lot: int
    parts: int
    came: float
    left: float
    written: float
    colour: str
    redone: bool = False


@dataclass(frozen=True)
class Loaded:
    """What the shop's own records say of one oven load."""

    minutes: float
    written: float
    parts: int
    at: float


class Shop:
    """The floor. `quote` is asked for a due time when an order is booked."""

    def __init__(
        self,
        house: House,
        real: World,
        seed: int | str,
        quote: Quote,
        finished: Callable[["Shop", Order], None] = lambda *_: None,
        *,
        by_due: bool = False,
    ) -> None:
        self.env = simpy.Environment()
        self.house, self.real, self.by_due = house, real, by_due
        self.rng = random.Random(f"floor {seed}")
        self.quote, self.finished = quote, finished
        self.open: dict[int, Order] = {}
        self.records: list[Stayed] = []
        self.loads: list[Loaded] = []
        self.blasted = 0.0
        self._queues: dict[str, list[Entry]] = {}
        self._calls: dict[str, list[simpy.Event]] = {}
        self._colour = ""
        self._serial = 0
        self._late: dict[int, bool] = {}
        self.history: list[Order] = []
        self.booked: dict[int, Order] = {}
        self._coming: list[Order] = []
        for key in STAGES:
            self._queues[key], self._calls[key] = [], []
            for _ in range(house.places.get(key, 1)):
                self.env.process(self._place(key))

    def run(self, coming: list[Order]) -> None:
        """Let all orders come and be finished."""
        self._coming = sorted(coming, key=lambda one: (one.booked, one.number))
        self.env.process(self._bookings())
        self.env.run()

    def later(self, until: float) -> list[Order]:
        """Return who will book yet and come before `until`: what no shop can know."""
        now, last = self.env.now, bisect_left(self._coming, until, key=lambda one: one.booked)
        ahead = self._coming[len(self.history) : last]
        return [one for one in ahead if one.booked >= now and one.arrives <= until]

    def work_waiting(self) -> float:
        """Written minutes still to do in the house on all open orders."""
        return sum(self.left(lot) for order in self.open.values() for lot in order.lots)

    def left(self, lot: Lot) -> float:
        """Written minutes still to do on a lot, without queues."""
        order, parts, house = lot.order, lot.parts, self.house
        rank = STAGES.index(lot.stage)
        left = parts * order.prep if rank == 0 else 0.0
        left += parts * order.blast if rank <= 2 else 0.0
        if rank <= 4:
            left += parts * sum(order.coat[lot.coats_done :])
            cures = order.cures[lot.coats_done :]
            left += sum(house.heat_up + hold + house.cool_down for _, hold, _ in cures)
        return left + (parts * order.inspect if rank <= 5 else 0.0) + parts * order.refit

    def _bookings(self) -> Iterator[Any]:
        for order in self._coming:
            yield self.env.timeout(order.booked - self.env.now)
            self.history.append(order)
            order.due = self.quote(self, order)
            self.booked[order.number] = order
            self.env.process(self._arrival(order))

    def _arrival(self, order: Order) -> Iterator[Any]:
        yield self.env.timeout(order.arrives - self.env.now)
        self._bring(order)

    def _bring(self, order: Order) -> None:
        """Take in what a customer brings."""
        del self.booked[order.number]
        self.open[order.number] = order
        for n, first in enumerate(range(0, order.count, HANGING)):
            order.lots.append(Lot(order, n, min(HANGING, order.count - first)))
        for lot in list(order.lots):
            self._enter(lot, "prep")

    def _turn(self, lot: Lot) -> float:
        order = lot.order
        if lot.redone or (order.strip and lot.stage == "prep"):
            return 0.0
        return order.due if self.by_due else order.arrives + PATIENCE * order.inside(self.house)

    def _enter(self, lot: Lot, stage: str) -> None:
        lot.stage, lot.since = stage, self.env.now
        if stage == "strip":
            self.env.process(self._outside(lot))
            return
        self._serial += 1
        insort(self._queues[stage], (self._turn(lot), self._serial, lot))
        if self._calls[stage]:
            self._calls[stage].pop().succeed()

    def _place(self, key: str) -> Iterator[Any]:
        while True:
            while not self._queues[key]:
                call = self.env.event()
                self._calls[key].append(call)
                yield call
            # whatever else comes at this very moment takes part in the choice
            yield self.env.timeout(self._until_open(key))
            if not self._queues[key] or self._until_open(key):
                continue
            lots, minutes = self._choose(key)
            self.blasted += minutes if key == "blast" else 0.0
            yield self.env.timeout(self._through(key, minutes))
            for lot in lots:
                self._record(lot, key)
                self.env.process(self._leave(lot, key))

    def _until_open(self, key: str) -> float:
        opens, closes = self.house.shift(key)
        clock = self.env.now % DAY
        if opens <= clock < closes:
            return 0.0
        return opens - clock if clock < opens else DAY - clock + opens

    def _through(self, key: str, minutes: float) -> float:
        """Return how long a service takes that pauses while its station is closed."""
        opens, closes = self.house.shift(key)
        today = closes - self.env.now % DAY
        if minutes <= today or closes - opens >= DAY:
            return minutes
        nights, rest = divmod(minutes - today, closes - opens)
        return today + (nights + 1) * (DAY - closes + opens) + nights * (closes - opens) + rest

    def _choose(self, key: str) -> tuple[list[Lot], float]:
        queue = self._queues[key]
        first = self._first(queue)
        if key == "cure":
            return self._load(queue, first)
        change = 0.0
        if key == "coat":
            first = self._neighbour(queue, first)
            colour = first[2].order.cures[first[2].coats_done][2]
            change = 0.0 if colour == self._colour else self.house.colour_change
            self._colour = colour
        queue.remove(first)
        lot = first[2]
        return [lot], change + self._took(key, self._written(lot, key), lot.parts)

    def _first(self, queue: list[Entry]) -> Entry:
        if self.by_due:
            return queue[0]
        hurry = [(one[2].order.due - URGENT * self._way(one[2]), one) for one in queue]
        at, most = min(hurry, key=lambda pair: pair[0])
        return most if at <= self.env.now else queue[0]

    def _way(self, lot: Lot) -> float:
        """Return the floor's minutes until the lot's order could be done if nobody else waited."""
        order, house, here = lot.order, self.house, STAGES.index(lot.stage)
        way = 0.0
        # from the oven it goes back to the booth while coats are missing
        for key in (*(("coat",) if lot.stage == "cure" else ()), *STAGES[here:]):
            opens, closes = house.shift(key)
            minutes = self._asks(lot, key)
            if key == lot.stage:
                behind = [one for one in order.lots if STAGES.index(one.stage) <= here]
                others = sum(self._asks(one, key) for one in behind if one is not lot)
                minutes += others / house.places.get(key, 1)
            way += minutes * DAY / (closes - opens)
        return way + house.cool_down * len(order.cures[lot.coats_done :])

    def _asks(self, lot: Lot, key: str) -> float:
        """Return the written minutes that a lot on its way still asks of a station."""
        order = lot.order
        if key == "strip":
            return 0.0
        if key == "coat":
            return lot.parts * sum(order.coat[lot.coats_done + (lot.stage == "cure") :])
        if key == "cure":
            cures = order.cures[lot.coats_done :]
            return sum(self.house.heat_up + hold for _, hold, _ in cures)
        return lot.parts * float(getattr(order, key))

    def _neighbour(self, queue: list[Entry], first: Entry) -> Entry:
        """Return the first lot, or one of the booth's colour whose turn is hardly later."""
        for one in queue:
            if one[0] > first[0] + SAME_COLOUR:
                break
            if one[2].order.cures[one[2].coats_done][2] == self._colour:
                return one
        return first

    def _load(self, queue: list[Entry], first: Entry) -> tuple[list[Lot], float]:
        celsius = first[2].order.cures[first[2].coats_done][0]
        room, taken = self.house.oven_room, []
        for entry in [first, *(one for one in queue if one is not first)]:
            lot = entry[2]
            if lot.order.cures[lot.coats_done][0] == celsius and lot.parts <= room:
                room -= lot.parts
                taken.append(lot)
                queue.remove(entry)
        hold = max(lot.order.cures[lot.coats_done][1] for lot in taken)
        written = self.house.heat_up + hold
        minutes = self._took("cure", written)
        parts = sum(lot.parts for lot in taken)
        self.loads.append(Loaded(minutes, written, parts, self.env.now + minutes))
        return taken, minutes

    def _written(self, lot: Lot, key: str) -> float:
        if key == "coat":
            return lot.parts * lot.order.coat[lot.coats_done]
        return lot.parts * float(getattr(lot.order, key))

    def _took(self, key: str, written: float, parts: int = 1) -> float:
        """Draw how long it really takes; parts vary independently, so a lot varies less."""
        if written == 0 or self.real.spread[key] == 0:
            return written * self.real.pace[key]
        shape = parts / self.real.spread[key] ** 2
        return self.rng.gammavariate(shape, written * self.real.pace[key] / shape)

    def _record(self, lot: Lot, key: str) -> None:
        if key == "cure":
            return
        colour = lot.order.cures[lot.coats_done][2] if key == "coat" else ""
        number = lot.number + 100 * lot.redone
        self.records.append(
            Stayed(
                key, lot.order.number, number, lot.parts, lot.since, self.env.now,
                self._written(lot, key), colour, lot.redone,
            )
        )  # fmt: skip

    def _leave(self, lot: Lot, key: str) -> Iterator[Any]:
        order = lot.order
        if key == "cure":
            yield self.env.timeout(self.house.cool_down)
            lot.coats_done += 1
            self._enter(lot, "coat" if lot.coats_done < len(order.coat) else "inspect")
        elif key == "inspect":
            self._inspected(lot)
        elif key == "refit":
            self._finish(lot)
        else:
            after = {"prep": "strip" if order.strip else "blast", "blast": "coat", "coat": "cure"}
            self._enter(lot, after[key])

    def _inspected(self, lot: Lot) -> None:
        order = lot.order
        bad = sum(self.rng.random() < self.real.rework for _ in range(lot.parts))
        if bad:
            again = Lot(order, lot.number, bad, redone=True)
            order.lots.append(again)
            self._enter(again, "blast")
            lot.parts -= bad
        if lot.parts == 0:
            order.lots.remove(lot)
        elif order.refit:
            self._enter(lot, "refit")
        else:
            self._finish(lot)

    def _finish(self, lot: Lot) -> None:
        order = lot.order
        order.lots.remove(lot)
        if not order.lots:
            order.done = self.env.now
            del self.open[order.number]
            self.finished(self, order)

    def _outside(self, lot: Lot) -> Iterator[Any]:
        house, day = self.house, int(self.env.now // DAY)
        while day % WEEK not in house.run_days or day * DAY + house.cut_off < self.env.now:
            day += 1
        if day not in self._late:
            self._late[day] = self.rng.random() < self.real.late_run
        back = (day + house.back_days + self._late[day]) * DAY + house.back_at
        yield self.env.timeout(back - self.env.now)
        self._enter(lot, "blast")
