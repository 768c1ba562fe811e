"""What a quiet bench never shows: stoppages, holidays, rushes, people who come late or never.

Each shock begins at one moment of a run that was quiet so far. What nobody can promise is left out
of the count, as in the portal: orders that never came, came late or waited for their customer.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from portal.shop.route import PartStage
from portal.shop.scheduling.stations import Stations
from tests.bench.our_promise import OurPromise, moment
from tests.bench.sim_orders import DAY, WEEK, House, Lot, Order, World, orders
from tests.bench.sim_shop import Entry, Quote, Shop

DOWN, HOLIDAY, RUSH = 2 * DAY, WEEK * DAY, 2 * WEEK * DAY
STATION = "blast"
MORE = 0.5
NO_SHOWS = 1 / 12
DEPARTS = 1 / 5
LATE = 1 / 3  # of the customers, by up to a day
FINDINGS, ANSWER = 1 / 8, 2 * DAY  # of the orders; up to so long until they are answered


@dataclass(frozen=True)
class Shock:
    """One shock: what is different from `begins` on, until `ends` where it ends."""

    name: str
    lasts: float = float("inf")
    declared: bool = False
    closes: tuple[str, ...] = ()
    more: float = 0.0
    no_shows: float = 0.0
    departs: float = 0.0
    late: float = 0.0
    findings: float = 0.0


EVERYTHING = ("prep", "blast", "coat", "cure", "inspect", "refit")
SHOCKS = (
    Shock("station down, undeclared", DOWN, closes=(STATION,)),
    Shock("station down, declared", DOWN, declared=True, closes=(STATION,)),
    Shock("holiday week", HOLIDAY, declared=True, closes=EVERYTHING),
    Shock("half as many bookings again", RUSH, more=MORE),
    Shock("floor departs from the order", departs=DEPARTS),
    Shock("no-shows", no_shows=NO_SHOWS),
    Shock("findings wait for answers", findings=FINDINGS),
    Shock("arrivals up to a day late", late=LATE),
)


class ShockedShop(Shop):
    """The floor with a shock from `begins` on; `spared` are orders whose date was not ours."""

    def __init__(  # as the shop's, and the shock
        self, house: House, real: World, seed: str, quote: Quote, finished: Any, shock: Shock
    ) -> None:
        super().__init__(house, real, seed, quote, finished)
        self.shock = shock
        self.begins = float("inf")
        self.spared: set[int] = set()
        self._chance = random.Random(f"shock {seed}")

    @property
    def shocked(self) -> bool:
        """Whether it lasts."""
        return self.begins <= self.env.now < self.begins + self.shock.lasts

    def _arrival(self, order: Order) -> Iterator[Any]:
        yield self.env.timeout(order.arrives - self.env.now)
        if self.shocked and self._chance.random() < self.shock.no_shows:
            self.spared.add(order.number)
            yield self.env.timeout(DAY - order.arrives % DAY)  # given up in the evening
            del self.booked[order.number]
            return
        if self.shocked and self._chance.random() < self.shock.late:
            self.spared.add(order.number)
            yield self.env.timeout(self._chance.uniform(60.0, DAY))
        yield from self._received(order)

    def _received(self, order: Order) -> Iterator[Any]:
        if self.shocked and self._chance.random() < self.shock.findings:
            self.spared.add(order.number)
            self._hold(order)
            yield self.env.timeout(self._chance.uniform(60.0, ANSWER))
        self._bring(order)

    def _hold(self, order: Order) -> None:
        """Take an order in that nobody works on yet."""
        del self.booked[order.number]
        self.open[order.number] = order
        order.lots.append(Lot(order, 0, order.count, since=self.env.now))

    def _bring(self, order: Order) -> None:
        order.lots.clear()
        self.booked.setdefault(order.number, order)
        super()._bring(order)

    def _until_open(self, key: str) -> float:
        if key in self.shock.closes and self.shocked:
            return self.begins + self.shock.lasts - self.env.now
        return super()._until_open(key)

    def _first(self, queue: list[Entry]) -> Entry:
        if self.shocked and self._chance.random() < self.shock.departs:
            return self._chance.choice(queue)
        return super()._first(queue)


class ShockedPromise(OurPromise):
    """Our promise in a shop with a shock: it knows what is declared, from the start of it."""

    def __init__(self, house: House, after: int) -> None:
        super().__init__(house)
        self.after = after
        self.quoted = 0

    def quote(self, shop: Shop, order: Order) -> float:
        """Return the promised moment; after so many bookings the shock begins, in the morning."""
        assert isinstance(shop, ShockedShop)
        self.quoted += 1
        if self.quoted == self.after:
            shop.begins = (shop.env.now // DAY + 1) * DAY
        return super().quote(shop, order)

    def learn(self, shop: Shop, order: Order) -> None:
        """Take notice of a finished order, unless its date was not ours, or an outage moved it."""
        assert isinstance(shop, ShockedShop)
        assert order.done is not None
        ends = shop.begins + shop.shock.lasts
        stopped = shop.shock.declared and order.arrives < ends and order.done > shop.begins
        if order.number not in shop.spared and not stopped:
            super().learn(shop, order)

    def _stations(self, shop: Shop) -> Stations:
        assert isinstance(shop, ShockedShop)
        shock, ends = shop.shock, shop.begins + shop.shock.lasts
        known = shop.begins - (3 * WEEK * DAY if shock.closes == EVERYTHING else 0.0)
        if not shock.declared or not known <= shop.env.now < ends:
            return self.stations
        span = (moment(shop.begins), moment(ends))
        stations = self.stations
        for key in shock.closes:
            one = stations[PartStage(key)]
            stations = stations.having(replace(one, down=(*one.down, span)))
        return stations


def shocked_run(
    shock: Shock, load: float, seed: int, real: World, *, after: int, count: int
) -> tuple[list[Order], list[Order], ShockedPromise]:
    """Return the hundred orders booked next after the shock began, and those after sixty more."""
    house = House()
    ours = ShockedPromise(house, after)
    shop = ShockedShop(house, real, f"{seed}/{shock.name}", ours.quote, ours.learn, shock)
    coming = _with_more(orders(f"{seed}/shock", count, load, real, house), shock, seed, after)
    shop.run(coming)
    since = [one for one in coming if one.booked >= shop.begins]
    since.sort(key=lambda one: (one.booked, one.number))
    following = [_counted(some, shop) for some in (since[:100], since[160:])]
    return following[0], following[1], ours


def _counted(found: Sequence[Order], shop: ShockedShop) -> list[Order]:
    return [one for one in found if one.done is not None and one.number not in shop.spared]


def _with_more(coming: list[Order], shock: Shock, seed: int, after: int) -> list[Order]:
    """Return the orders with those of a rush, and none that comes on a holiday."""
    by_booking = sorted(coming, key=lambda one: one.booked)
    begins = (by_booking[after - 1].booked // DAY + 1) * DAY
    ends = begins + shock.lasts
    if shock.closes == EVERYTHING:
        return [one for one in coming if not begins <= one.arrives < ends]
    if not shock.more:
        return coming
    chance = random.Random(f"rush {seed}")
    some = [one for one in coming if begins <= one.booked < ends and chance.random() < shock.more]
    last = max(one.number for one in coming)
    return [*coming, *(replace(one, number=last + n, lots=[]) for n, one in enumerate(some, 1))]
