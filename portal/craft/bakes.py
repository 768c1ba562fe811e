"""Whether a bake suits the coat that is in the oven: its schedule, and how far it may be passed.

The figures stand with their sources in `data/bakes.toml`.
"""

import math
from dataclasses import dataclass
from enum import Enum

from portal.craft.tables import toml_table
from portal.craft.titled import Titled

_TABLE = toml_table("bakes.toml")
HALVES_BY_C: float = _TABLE["halves_by_c"]
MOST_OF_CURE: float = _TABLE["most_of_cure"]


class Bake(Titled):
    """What a stay in the oven is for."""

    CURE = "cure", "Full cure"
    GEL = "gel", "Part cure"
    PRE_BAKE = "pre_bake", "Pre-bake"


class Fit(Enum):
    """How a load suits what lies in it."""

    SUITS = "as scheduled"
    SHORT = "too short or too cool"
    OVER = "longer or hotter than scheduled, within what the powder bears"
    PAST = "too long or too hot for the powder"


@dataclass(frozen=True, slots=True)
class Schedule:
    """A bake as planned: °C and minutes at part metal temperature.

    `full_min` is the time after which the coat would be cured fully; 0 where that is not known,
    and for a pre-bake.
    """

    bake: Bake
    set_point_c: int
    minutes: float
    full_min: float = 0.0

    @property
    def whole_min(self) -> int:
        """The minutes to set: whole ones, never fewer than scheduled."""
        return math.ceil(self.minutes - 1e-9)

    def cured(self, set_point_c: float, minutes: float) -> float:
        """Return how much of the full cure a bake gives: 1 is all of it."""
        full = self.full_min or self.minutes
        return minutes / full * 2 ** ((set_point_c - self.set_point_c) / HALVES_BY_C)


def fit(planned: Schedule, set_point_c: float, minutes: float, *, apart_c: float = 0.0) -> Fit:
    """Return how a bake suits a schedule; `apart_c` is what the shop lets bakes differ by."""
    if set_point_c < planned.set_point_c or minutes < planned.minutes:
        return Fit.SHORT
    cured = planned.cured(set_point_c, minutes)
    if planned.bake is Bake.GEL and cured >= 1:
        return Fit.PAST
    if planned.bake is Bake.CURE and cured > MOST_OF_CURE:
        return Fit.PAST
    near = set_point_c <= planned.set_point_c + apart_c and minutes <= planned.whole_min
    return Fit.SUITS if near else Fit.OVER
