"""The stations of the floor: capacity, times and hours.

Minutes are standard minutes of one person or machine; `pace` is this shop's factor on them (1.1:
ten percent longer). Lengths in mm, masses in kg, temperatures in °C.
"""

from dataclasses import dataclass, replace
from datetime import datetime

from portal.shop.calendar.hours import Hours
from portal.shop.route import PartStage


@dataclass(frozen=True, slots=True)
class Station:
    """One station: places, prior minutes per part, spread, what it adds, and when it works.

    `minutes` is fixed per part, `per_m2` per m² coated; `spread` the standard deviation of one
    part's time (in the oven: of a load's) over its mean; `pace` the learned factor on all
    minutes; `hours` None means the shop's own; `down` holds spans (aware UTC) in which it is out
    of order.
    """

    key: PartStage
    places: int = 1
    minutes: float = 0.0
    per_m2: float = 0.0
    spread: float = 0.25
    pace: float = 1.0
    hours: Hours | None = None
    down: tuple[tuple[datetime, datetime], ...] = ()


@dataclass(frozen=True, slots=True)
class Oven:
    """The oven: what fits, how long it needs besides the hold at part metal temperature.

    `fill` is the share of its volume that racked parts can take; `apart_c` how far cure
    temperatures may lie apart and still share a load (the load then runs at the highest).
    """

    size_mm: tuple[float, float, float] = (1800.0, 1500.0, 1800.0)
    limit_kg: float = 250.0
    heat_up: float = 30.0
    cool_down: float = 20.0
    fill: float = 0.6
    apart_c: int = 0


@dataclass(frozen=True, slots=True)
class Stations:
    """All stations of the floor, with what they share."""

    by_key: tuple[Station, ...]
    oven: Oven = Oven()
    colour_change: float = 12.0
    rework_rate: float = 0.04
    strip_late_rate: float = 0.05

    def __getitem__(self, key: PartStage) -> Station:
        for one in self.by_key:
            if one.key is key:
                return one
        raise KeyError(key)

    def having(self, *changed: Station) -> "Stations":
        """Return the stations with some of them replaced."""
        new = {one.key: one for one in changed}
        return replace(self, by_key=tuple(new.get(one.key, one) for one in self.by_key))
