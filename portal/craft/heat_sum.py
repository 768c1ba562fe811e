"""The heat that one part really had: the sum of its bakes by the model of `craft.heat`."""

from collections.abc import Iterable
from dataclasses import dataclass

from portal.craft.heat import minutes_at_200, warm_up_min, warming_at_200


@dataclass(frozen=True, slots=True)
class Baked:
    """One stay in the oven: set point in °C, and minutes at it after the part got hot."""

    set_point_c: int
    minutes: float


def bake_at_200(bake: Baked, mass_kg: float) -> float:
    """Return one bake with its warming up, in minutes at 200 °C."""
    warming = warming_at_200(bake.set_point_c, warm_up_min(mass_kg))
    return minutes_at_200(bake.set_point_c, max(0.0, bake.minutes)) + warming


def heat_sum(bakes: Iterable[Baked], mass_kg: float) -> float:
    """Return what all bakes of a part of `mass_kg` add up to, in minutes at 200 °C.

    Their order doesn't matter. Each bake warms the part up anew, so a bake in two halves counts
    for more than in one piece.
    """
    return round(sum(sorted(bake_at_200(one, mass_kg) for one in bakes)), 1)
