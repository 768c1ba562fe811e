"""What all bakes of a part do together, and whether the metal bears it.

Aluminium wheels are hardened by a heat treatment that later heat slowly undoes. Bakes at
different temperatures are made comparable as minutes at 200 °C by an Arrhenius law. Above 200 °C
its activation energy is fitted, with the loss of hardness, to three published points; below, one
measured on the usual wheel alloy is taken, because it counts cooler bakes for more (both in
`data/heat.toml`). Between and below these points it is our own interpolation: a straight line
from nothing to the first point, then a straight line over the logarithm of time. It counts more
loss than handbooks have for the tempers of wheel alloys, but nobody has tested it on wheels. It
says nothing about fatigue life: the same tests found up to 90 % less of it, and wheels that failed
the rotating-bending test of the law (UN R124).

The clock of a cure starts when the part itself is hot, and a heavy wheel is nearly that hot for
a while before. This warm-up counts too: it is reckoned as an exponential approach that has come
within 3 % of the rise when the clock starts (our own model; the times are published).
"""

import math
from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise

from portal.craft.answers import CoatPlan, Heat
from portal.craft.facts import IRON, LOAD_BEARING, base_metal
from portal.craft.messages import Message
from portal.craft.parts import Metal, PartSet
from portal.craft.quantities import celsius
from portal.craft.tables import toml_table

_TABLE = toml_table("heat.toml")
KELVIN = 273.15
GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA
REFERENCE_C = 200
ROOM_C = 20
# an approach is within 3 % after 3.5 time constants
TIME_CONSTANTS = 3.5
STEPS = 24
USUAL_MASS_KG = 10.0
# the lightest wheel of a car; common practice
LIGHT_MASS_KG = 5.0


def _fit() -> tuple[float, float, float, float]:
    """Return activation temperature (K), first point (min, share) and the slope per decade."""
    first, hot, hotter = _TABLE["loss"]
    slope = (hotter["share"] - hot["share"]) / math.log10(hotter["minutes"] / hot["minutes"])
    # minutes at the hotter temperature that cost as much as the first point
    same = hot["minutes"] / 10 ** ((hot["share"] - first["share"]) / slope)
    inverse = 1 / (first["c"] + KELVIN) - 1 / (hot["c"] + KELVIN)
    return (math.log(first["minutes"] / same) / inverse, first["minutes"], first["share"], slope)


_ACTIVATION_K, _FIRST_MIN, _FIRST_SHARE, _SLOPE = _fit()
_COOLER_K = _TABLE["below_200_j_per_mol"] / GAS_CONSTANT
MOST_KNOWN = _TABLE["loss"][-1]["share"]


def minutes_at_200(celsius: float, minutes: float) -> float:
    """Return the minutes at 200 °C that soften aluminium as much as `minutes` at `celsius`."""
    inverse = 1 / (REFERENCE_C + KELVIN) - 1 / (celsius + KELVIN)
    activation = _ACTIVATION_K if celsius > REFERENCE_C else _COOLER_K
    return minutes * math.exp(activation * inverse)


def hardness_loss(equivalent_min_at_200: float) -> float:
    """Return the share of hardness lost (0.05 = 5 %); never more than was ever published."""
    if equivalent_min_at_200 <= _FIRST_MIN:
        return _FIRST_SHARE * equivalent_min_at_200 / _FIRST_MIN
    grown = _FIRST_SHARE + _SLOPE * math.log10(equivalent_min_at_200 / _FIRST_MIN)
    return float(min(grown, MOST_KNOWN))


def warm_up_min(mass_kg: float) -> float:
    """Return the minutes until a part of `mass_kg` is as hot as the oven, before a cure counts."""
    points = _TABLE["warm_up_min"]
    if mass_kg <= points[0][0]:
        return float(points[0][1])
    for (light, less), (heavy, more) in pairwise(points):
        if mass_kg <= heavy:
            minutes: float = less + (more - less) * (mass_kg - light) / (heavy - light)
            return round(minutes, 1)
    return float(points[-1][1])


@lru_cache(maxsize=1024)
def warming_at_200(celsius: float, warm_up: float) -> float:
    """Return what warming up for `warm_up` minutes to `celsius` adds, in minutes at 200 °C."""
    rise = celsius - ROOM_C
    middles = ((step + 0.5) / STEPS for step in range(STEPS))
    reached = (celsius - rise * math.exp(-TIME_CONSTANTS * share) for share in middles)
    return sum(minutes_at_200(degrees, warm_up / STEPS) for degrees in reached)


def heat(part_set: PartSet, plan: CoatPlan, limit: float, *, mass_kg: float | None = None) -> Heat:
    """Return what pre-bake, all coats and one rework in reserve do to one part.

    `limit` is the shop's, in minutes at 200 °C. It counts for aluminium, and for a metal that
    nobody knows, where lives hang on the part. `mass_kg` is that of one part, where known.
    """
    bakes = _bakes(plan)
    warm_up = warm_up_min(mass_kg or USUAL_MASS_KG)
    equivalent = _equivalent(bakes, warm_up)
    metal = base_metal(part_set)
    if _bears_heat(metal):
        said: tuple[Message, ...] = (_bears_it(metal),)
        return Heat(bakes, equivalent, limit, None, allowed=True, said=said, warm_up_min=warm_up)
    allowed = equivalent <= limit or not is_limited(part_set)
    loss = hardness_loss(equivalent)
    unsure = mass_kg is None and _equivalent(bakes, warm_up_min(LIGHT_MASS_KG)) <= limit
    said = _says(equivalent, limit, allowed=allowed)
    if metal is Metal.UNKNOWN:
        said = (Message("Until we know the metal, we treat it as aluminium."), *said)
    return Heat(
        bakes,
        equivalent,
        limit,
        math.ceil(loss * 100) / 100,
        allowed=allowed,
        said=said,
        warm_up_min=warm_up,
        assumed=metal is Metal.UNKNOWN or unsure,
    )


def is_limited(part_set: PartSet) -> bool:
    """Return whether the shop's limit counts: lives hang on the part, and heat softens its metal.

    A metal that nobody knows counts as aluminium.
    """
    return part_set.kind in LOAD_BEARING and not _bears_heat(base_metal(part_set))


def _bears_heat(metal: Metal) -> bool:
    return metal in IRON or metal is Metal.ZINC_DIECAST


def _equivalent(bakes: Iterable[tuple[Message, int, float]], warm_up: float) -> float:
    """Return all bakes with their warming up, in minutes at 200 °C."""
    return round(sum(minutes_at_200(c, m) + warming_at_200(c, warm_up) for _, c, m in bakes), 1)


def _bakes(plan: CoatPlan) -> tuple[tuple[Message, int, float], ...]:
    bakes = [(Message(coat.role.title), coat.cure_c, coat.cure_min) for coat in plan.coats]
    if plan.pre_bake:
        bakes.insert(0, (Message("Pre-bake (drives gas out of the metal)"), *plan.pre_bake))
    worst = max(plan.coats, key=lambda coat: minutes_at_200(*coat.powder.cure))
    degrees, minutes = worst.powder.cure
    return (
        *bakes,
        (Message("One spare bake, in case we have to redo a coat"), degrees, float(minutes)),
    )


def _bears_it(metal: Metal) -> Message:
    if metal is Metal.ZINC_DIECAST:
        return Message(
            "The oven doesn't soften zinc die-cast, but gas in it can blister the coating."
        )
    return Message("Steel and iron can take these temperatures without a limit.")


def _says(equivalent: float, limit: float, *, allowed: bool) -> tuple[Message, ...]:
    if not allowed:
        return (
            Message(
                "Too much heat for aluminium: baking weakens it. Your coats add up to "
                "{equivalent} minutes at {heat}; our limit is {limit}. Choose fewer coats, or one "
                "colour instead of two.",
                equivalent=round(equivalent),
                heat=celsius(REFERENCE_C),
                limit=round(limit),
            ),
        )
    return (
        Message(
            "All bakes together equal {equivalent} minutes at {heat}. Our limit is {limit}.",
            equivalent=round(equivalent),
            heat=celsius(REFERENCE_C),
            limit=round(limit),
        ),
        Message(
            "In published tests, {minutes} minutes at {heat} cost {share} % of a wheel's hardness. "
            "The same tests found up to {life} % less fatigue life, and wheels that no longer "
            "passed the bending test that the law asks for.",
            minutes=_TABLE["loss"][0]["minutes"],
            heat=celsius(REFERENCE_C),
            share=round(_FIRST_SHARE * 100),
            life=_TABLE["fatigue_life_lost_percent"],
        ),
        Message("Our limit is cautious, but nobody has tested it on wheels."),
    )
