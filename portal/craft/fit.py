"""The effect of a film on fits: the clearance it leaves, and what is masked because of it."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from portal.craft.answers import COMMON_PRACTICE, CoatPlan, Mask
from portal.craft.facts import facts_of, holds
from portal.craft.messages import Message
from portal.craft.parts import BareZone, PartSet
from portal.craft.quantities import fixed, micron, mm
from portal.craft.tables import toml_table

_ROWS: tuple[Mapping[str, Any], ...] = tuple(toml_table("fits.toml")["zone"])

# the thickest film reckoned with before a finish is chosen: a usual two-coat system
USUAL_FILM_UM = 180
UM_PER_MM = 1000


def clearance_left_mm(before_mm: float, film_um: float, walls: int) -> float:
    """Return what is left of a clearance when `walls` films of `film_um` are in it; may be < 0."""
    return before_mm - walls * film_um / UM_PER_MM


def masks(part_set: PartSet, plan: CoatPlan | None) -> tuple[Mask, ...]:
    """Return what is masked on this kind of part and why, then what the customer wants bare."""
    facts = facts_of(part_set)
    film = plan.film_um[1] if plan else USUAL_FILM_UM
    wanted = part_set.finish.bare if part_set.finish else ()
    found: dict[BareZone, Mask] = {}
    for row in _ROWS:
        zone = BareZone(row["zone"])
        counts = zone in wanted or not row.get("asked")
        if zone not in found and counts and holds(row["when"], facts):
            found[zone] = _mask(zone, row, film)
    for zone in wanted:
        found.setdefault(zone, Mask(zone, Message("You asked us to keep this bare.")))
    return tuple(found.values())


def more_zones(part_set: PartSet) -> tuple[BareZone, ...]:
    """Return the surfaces of this kind of part that stay bare only when the customer asks."""
    kind = part_set.kind.value
    known = {BareZone(row["zone"]) for row in _ROWS if kind in row["when"].get("kind", (kind,))}
    known |= {BareZone.STAMPS}
    always = {mask.zone for mask in masks(replace(part_set, finish=None), None)}
    return tuple(zone for zone in BareZone if zone in known - always)


def _mask(zone: BareZone, row: Mapping[str, Any], film_um: int) -> Mask:
    source = Message(row["source"]) if "source" in row else COMMON_PRACTICE
    before = row.get("before_mm")
    if before is None:
        return Mask(zone, Message(row["why"]), None, source)
    walls = int(row["walls"])
    taken = walls * film_um / UM_PER_MM
    why = Message(row["why"], before=mm(before), film=micron(film_um), taken=mm(fixed(taken, 2)))
    return Mask(zone, why, round(clearance_left_mm(before, film_um, walls), 3), source)


def brake_gap(plan: CoatPlan) -> Message:
    """Return what the film takes from the gap between a wheel and its brake: one film."""
    return Message(
        "The coating makes the inside of the wheel up to {taken} thicker, so the gap to "
        "the brake gets smaller. If the gap is narrow, turn the wheel by hand before you "
        "drive.",
        taken=mm(fixed(plan.film_um[1] / UM_PER_MM, 2)),
    )
