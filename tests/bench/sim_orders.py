"""Customers of a simulated works: what they bring, when they book, when they come.

Everything is drawn from seeds of its own; nothing here knows the forecaster. Times are working
minutes: a day has 540, a week five days. The mix is invented, but for its orders of magnitude:
four-wheel sets lead, one order in twelve is a trade batch of small parts, one in seven goes to
an outside strip. Of the parts that inspection finds at fault most are put right at the bench;
one part in two hundred goes back to the blast.
"""

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, field

DAY = 540.0
WEEK = 5
TRADE = 12  # parts of a trade batch at least
AT_THE_DOOR = 1 / 7
FURTHEST = 15.0  # working days: the portal offers three weeks
# working days from booking to drop-off in the mean; a gamma distribution of shape 1.5
LEADS = {"few parts": 3.0, "set": 4.0, "outside strip": 6.0, "trade batch": 7.0}


@dataclass(frozen=True)
class House:
    """What is written about the works: its calendar, its oven, its booth.

    One coater: he blasts in the morning and coats in the afternoon. Strip runs leave on
    `run_days` (Monday is 0) for what is ready by `cut_off`.
    """

    places: Mapping[str, int] = field(default_factory=lambda: {"prep": 2})
    shifts: Mapping[str, tuple[float, float]] = field(
        default_factory=lambda: {"blast": (0.0, 270.0), "coat": (270.0, 540.0)}
    )
    run_days: tuple[int, ...] = (1, 4)
    cut_off: float = 120.0
    back_days: int = 2
    back_at: float = 390.0
    heat_up: float = 30.0
    cool_down: float = 15.0
    oven_room: float = 40.0
    colour_change: float = 10.0

    def shift(self, key: str) -> tuple[float, float]:
        """Return from when to when a station works, in minutes of the day."""
        return self.shifts.get(key, (0.0, DAY))


@dataclass(frozen=True)
class World:
    """What is true: the pace of each station, the spread of one part, what comes back or late."""

    pace: Mapping[str, float]
    spread: Mapping[str, float] = field(
        default_factory=lambda: {
            "prep": 0.4,
            "blast": 0.3,
            "coat": 0.25,
            "cure": 0.03,
            "inspect": 0.4,
            "refit": 0.3,
        }
    )
    rework: float = 0.005
    late_run: float = 0.01


def world(seed: int, rework: float = 0.005) -> World:
    """Draw true times up to 20 % off the written ones."""
    rng = random.Random(f"world {seed}")
    keys = ("prep", "blast", "coat", "cure", "inspect", "refit")
    return World({key: rng.uniform(0.8, 1.2) for key in keys}, rework=rework)


@dataclass(eq=False)
class Order:
    """What one customer brings. Times are written minutes for one part."""

    number: int
    count: int
    prep: float
    blast: float
    coat: tuple[float, ...]
    cures: tuple[tuple[int, float, str], ...]
    inspect: float
    refit: float
    strip: bool = False
    arrives: float = 0.0
    booked: float = 0.0
    due: float = 0.0
    done: float | None = None
    lots: list["Lot"] = field(default_factory=list)

    @property
    def flow(self) -> float:
        """How long it was in the house."""
        assert self.done is not None
        return self.done - self.arrives

    @property
    def kind(self) -> str:
        """The kind of customer, the narrowest first."""
        if self.strip:
            return "outside strip"
        if self.count >= TRADE:
            return "trade batch"
        return "few parts" if self.count <= 2 else "set"

    def inside(self, house: House) -> float:
        """Written work of the whole order in the house."""
        by_hand = self.prep + self.blast + sum(self.coat) + self.inspect + self.refit
        baked = sum(house.heat_up + hold + house.cool_down for _, hold, _ in self.cures)
        return self.count * by_hand + baked

    def work(self, house: House) -> float:
        """Total written work, the days at the outside strip counted as work."""
        return self.inside(house) + (house.back_days * DAY if self.strip else 0.0)

    def operations(self) -> int:
        """How many stations it visits."""
        return 3 + self.strip + 2 * len(self.coat) + (self.refit > 0)


@dataclass(eq=False)
class Lot:
    """Parts of an order that move together."""

    order: Order
    number: int
    parts: int
    stage: str = "prep"
    coats_done: int = 0
    since: float = 0.0
    redone: bool = False


EARLY = 150  # customers at most who would have booked before the first day
BUSY_DAYS = (1.4, 1.0, 0.8, 0.8, 1.0)  # Monday brings what the weekend took off the car


def orders(
    seed: int | str, count: int, utilisation: float, real: World, house: House
) -> list[Order]:
    """Draw the customers of one run, so many that the blast is busy that share of its time.

    They book from the first moment on, so the first days are quieter: whoever comes then has
    booked no earlier.
    """
    rng = random.Random(f"orders {seed}")
    drawn = [_order(n, rng) for n in range(count + EARLY)]
    blast = sum(one.count * one.blast for one in drawn) / len(drawn)
    opens, closes = house.shift("blast")
    each = blast * real.pace["blast"] * (1 + real.rework) / utilisation
    a_day = (closes - opens) / each
    day, coming, found = 0, iter(drawn), list[Order]()
    while len(found) < count:
        number = _poisson(a_day * BUSY_DAYS[day % WEEK], rng)
        for moment in sorted(_drop_off(rng) for _ in range(number)):
            one = next(coming)
            one.arrives = day * DAY + moment
            one.booked = one.arrives - _lead(one, rng)
            if one.booked >= 0:
                found.append(one)
        day += 1
    return found[:count]


def _lead(order: Order, rng: random.Random) -> float:
    """Draw how many working minutes before its drop-off an order is booked; 0 at the door."""
    if rng.random() < AT_THE_DOOR:
        return 0.0
    days = rng.gammavariate(1.5, LEADS[order.kind] / 1.5)
    return min(FURTHEST, max(0.1, days)) * DAY


def _order(number: int, rng: random.Random) -> Order:
    if rng.random() < 0.08:
        return _trade(number, rng)
    area = rng.uniform(0.35, 0.75)
    colours = [*_colours(rng, 1), *["clear"] * rng.choices((0, 1, 2), (40, 50, 10))[0]]
    return Order(
        number=number,
        count=rng.choices((1, 2, 4, 5, 8), (12, 18, 55, 8, 7))[0],
        prep=rng.choice((6.0, 10.0, 18.0)),
        blast=rng.choice((10.0, 15.0, 20.0, 28.0)),
        coat=tuple(1.5 + 4.0 * area for _ in colours),
        cures=_cures(colours, rng),
        inspect=3.0,
        refit=12.0 if rng.random() < 0.4 else 0.0,
        strip=rng.random() < 0.15,
    )


def _trade(number: int, rng: random.Random) -> Order:
    """Brackets, balusters, covers: many small parts, one coat."""
    colours = _colours(rng, 1)
    return Order(
        number=number,
        count=rng.choice((12, 18, 24, 36, 48)),
        prep=rng.choice((1.0, 2.0)),
        blast=rng.choice((5.0, 7.0, 9.0)),
        coat=(0.3 + 4.0 * rng.uniform(0.08, 0.2),),
        cures=_cures(colours, rng),
        inspect=1.0,
        refit=0.0,
    )


def _colours(rng: random.Random, count: int) -> list[str]:
    return rng.choices(("black", "silver", "anthracite", "bronze", "white", "red"), k=count)


def _cures(colours: list[str], rng: random.Random) -> tuple[tuple[int, float, str], ...]:
    # most powders of one shop are bought for one schedule
    return tuple((rng.choices((180, 200), (85, 15))[0], 15.0, one) for one in colours)


def _drop_off(rng: random.Random) -> float:
    """Draw a moment in the drop-off hours: the first two hours, or the last hour and a half."""
    return rng.uniform(0, 120) if rng.random() < 0.6 else rng.uniform(DAY - 90, DAY)


def _poisson(mean: float, rng: random.Random) -> int:
    count, product = 0, rng.random()
    while product > math.exp(-mean):
        count += 1
        product *= rng.random()
    return count
