"""Refusals, inspections, confirmations, and advice: one table, and what is computed.

The table is `data/cautions.toml`. Computed here: metals that aren't accepted, items that would stay
on, parts that don't fit the oven, and heat beyond the limit. Nothing here calls a part safe.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from portal.craft.answers import (
    COMMON_PRACTICE,
    About,
    Caution,
    CautionKind,
    CoatPlan,
    Heat,
    Removal,
    StripRoute,
    Surface,
)
from portal.craft.check_kinds import Found
from portal.craft.damaged import how_many
from portal.craft.facts import Facts, holds, sentence_of
from portal.craft.fit import brake_gap
from portal.craft.hanging import hang_at, hanging_mark
from portal.craft.messages import CraftError, Message
from portal.craft.old_finishes import inspection_key
from portal.craft.parts import Declared, PartKind, PartSet, Remover
from portal.craft.quantities import Box, kg
from portal.craft.tables import sentence, toml_table

_ROWS: tuple[Mapping[str, Any], ...] = tuple(toml_table("cautions.toml")["caution"])
_ORDER_ROWS: tuple[Mapping[str, Any], ...] = tuple(toml_table("cautions.toml")["order"])

_ABOUT = (
    ("system", About.FINISH),
    ("choice", About.FINISH),
    ("top", About.FINISH),
    ("bringing", About.ITEMS),
    ("fitted", About.ITEMS),
    ("damage", About.STATE),
    ("found", About.STATE),
    ("colour", About.STATE),
    ("layer", About.STATE),
)


def from_table(part_set: PartSet, facts: Facts) -> tuple[Caution, ...]:
    """Return the rows of the table that apply to a set, or to some of its parts."""
    return tuple(
        _of_some(part_set, row, _caution(row, _about(row["when"])))
        for row in _ROWS
        if holds(row["when"], facts)
    )


def _of_some(part_set: PartSet, row: Mapping[str, Any], caution: Caution) -> Caution:
    """Name the damage of a caution, and how many parts have it where not all do."""
    damage = next((d for d in part_set.damage if d in row["when"].get("damage", ())), None)
    if damage is None:
        return caution
    parts = how_many(part_set, damage)
    return replace(caution, damage=damage, parts=parts if parts < part_set.count else None)


def of_order(declared: Declared) -> tuple[Caution, ...]:
    """Return the cautions that concern the order as a whole."""
    facts = {
        "order": frozenset(
            name
            for name, true in (
                ("colour", any(one.finish and one.finish.colour for one in declared.sets)),
                ("before_1980", declared.original_before_1980),
            )
            if true
        )
    }
    return tuple(_caution(row, About.ORDER) for row in _ORDER_ROWS if holds(row["when"], facts))


def _about(when: Mapping[str, Any]) -> About:
    """Return what a row is about, by what it asks for: the latest choice comes first."""
    return next((about for key, about in _ABOUT if key in when), About.PART)


def _caution(row: Mapping[str, Any], about: About) -> Caution:
    return Caution(
        key=row["key"],
        kind=CautionKind(row["kind"]),
        says=sentence(row["says"]),
        instead=sentence_of(row, "instead"),
        source=Message(row["source"]) if "source" in row else COMMON_PRACTICE,
        about=about,
    )


def of_route(way: StripRoute) -> tuple[Caution, ...]:
    """Return the refusal of a metal that isn't accepted, and the inspections before stripping."""
    if way.refused is not None:
        return (
            Caution(
                "metal",
                CautionKind.REFUSE,
                way.refused,
                Message("Not sure of the metal? Choose “Don't know” and we'll check it."),
                Message("DGUV Information 209-090 (magnesium); common practice"),
            ),
        )
    return tuple(
        Caution(f"look_{inspection_key(says)}", CautionKind.INSPECT, says, about=About.STATE)
        for says in way.to_inspect
    )


def of_found(part_set: PartSet, *, can_strip_lead: bool) -> tuple[Caution, ...]:
    """Return the refusal of lead or chromate, where nobody strips it for the shop."""
    if can_strip_lead or Found.LEAD not in part_set.found:
        return ()
    says = Message(
        "The old finish contains lead or chromate. We don't sand or blast it, and no licensed "
        "company strips it for us."
    )
    instead = Message("Have a licensed company strip it. Then bring us the bare parts.")
    source = Message("OSHA 29 CFR 1926.62 (lead) and 1910.1026 (chromium VI)")
    return (Caution("found_lead", CautionKind.REFUSE, says, instead, source, About.STATE),)


def of_items(part_set: PartSet, removals: Iterable[Removal]) -> tuple[Caution, ...]:
    """Return a refusal for each item that must come off and was declared to stay on."""
    staying = [
        removal
        for removal in removals
        if removal.must and part_set.removers.get(removal.item) is Remover.STAYS
    ]
    return tuple(
        Caution(
            f"stays_{removal.item}",
            CautionKind.REFUSE,
            removal.why[0],
            Message("Have it taken off before you bring the part, or ask us to do it."),
            removal.source,
            About.ITEMS,
        )
        for removal in staying
    )


def of_choice(wrong: CraftError) -> Caution:
    """Return the refusal of a finish that the shop can't make, or not on this part."""
    return Caution(wrong.key, CautionKind.REFUSE, wrong.sentence, about=About.FINISH)


def of_heat(heat: Heat | None) -> tuple[Caution, ...]:
    """Return a refusal where all bakes together exceed the shop's limit.

    It is no refusal while the metal or the mass is assumed: we find out first.
    """
    if heat is None or heat.allowed:
        return ()
    source = Message("published tests of hardness and fatigue on wheels; the limit is our own")
    if heat.assumed:
        return (Caution("heat_open", CautionKind.INSPECT, _HEAT_OPEN, None, source, About.FINISH),)
    return (
        Caution(
            "heat",
            CautionKind.REFUSE,
            heat.said[-1],
            Message("Or ask us about a powder that bakes at a lower temperature."),
            source,
            About.FINISH,
        ),
    )


_HEAT_OPEN = Message(
    "We check the metal and the weight before we bake this finish. If the parts are aluminium, "
    "it may be too much heat for them. Then we ask you to choose another finish."
)


def of_fit(part_set: PartSet, plan: CoatPlan | None) -> tuple[Caution, ...]:
    """Return the effect of a film on the gap beside the brake."""
    if plan is None or part_set.kind is not PartKind.WHEEL:
        return ()
    source, says = Message("calculated from the film thickness"), brake_gap(plan)
    thickest = plan.film_um[1]
    return (
        Caution(f"brake_gap_{thickest}", CautionKind.TELL, says, source=source, about=About.FINISH),
    )


def of_hanging(part_set: PartSet) -> Caution:
    """Return where the parts hang while they are coated, and the mark that stays."""
    at = hang_at(part_set.kind)
    says = hanging_mark(part_set.kind)
    return Caution(f"hanging_{at}", CautionKind.TELL, says, about=About.FINISH)


def of_oven(
    surface: Surface | None,
    oven_mm: tuple[float, float, float],
    oven_kg: float,
    *,
    assumed: bool = False,
) -> tuple[Caution, ...]:
    """Return a refusal where a part doesn't fit the oven, however it is turned, or is too heavy.

    A size that is only `assumed` refuses nothing: we ask for the real one.
    """
    if surface is None:
        return ()
    part, oven = sorted(surface.envelope_mm), sorted(oven_mm)
    large = any(size > room for size, room in zip(part, oven, strict=True))
    heavy = surface.mass_kg > oven_kg
    if assumed and (large or heavy):
        return (Caution("oven_open", CautionKind.INSPECT, _SIZE_OPEN),)
    instead = Message(
        "Ask a coating company with a larger oven. If the part comes apart, bring it in pieces."
    )
    found = []
    if large:
        found.append(Caution("oven_size", CautionKind.REFUSE, _too_large(part, oven), instead))
    if heavy:
        says = Message(
            "Too heavy for our oven: the part weighs about {mass}, the rails carry {most}.",
            mass=kg(round(surface.mass_kg)),
            most=kg(round(oven_kg)),
        )
        found.append(Caution("oven_weight", CautionKind.REFUSE, says, instead))
    return tuple(found)


_SIZE_OPEN = Message("Parts of the usual size may not fit our oven. We measure yours first.")


def _too_large(part: list[float], oven: list[float]) -> Message:
    return Message(
        "Too large for our oven: the part is about {part}, the oven holds {room}.",
        part=Box(tuple(map(round, reversed(part)))),
        room=Box(tuple(map(round, reversed(oven)))),
    )
