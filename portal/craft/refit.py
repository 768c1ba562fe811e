"""The guide after pickup, adapted to what was coated and what had been taken off.

No torque figure is ever printed: the vehicle handbook has it, and it wins over this guide.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from portal.craft.answers import RefitStep
from portal.craft.bringing import NewTyres
from portal.craft.care import care_steps
from portal.craft.corners import Wheel
from portal.craft.facts import Facts, holds
from portal.craft.messages import Message, joined
from portal.craft.parts import Bringing, Declared, Item, PartKind, PartSet, Remover, Usage
from portal.craft.tables import sentence, toml_table

_TABLE: Mapping[str, Any] = toml_table("refit.toml")
_ROWS: tuple[Mapping[str, Any], ...] = tuple(_TABLE["step"])


def guide_for(declared: Declared, wheels: Sequence[Wheel] = ()) -> tuple[RefitStep, ...]:
    """Return the steps that fit what was coated and what was taken off, by whomever.

    `wheels` are those that go home, with their corners.
    """
    removed = frozenset(
        item
        for one in declared.sets
        for item in one.fitted
        if one.removers.get(item) is not Remover.STAYS
    )
    return guide(declared.sets, removed, declared.usage, declared.bringing, wheels)


def guide(
    part_sets: Iterable[PartSet],
    removed_items: Iterable[Item],
    usage: Usage | None = None,
    bringing: Bringing | None = None,
    wheels: Sequence[Wheel] = (),
) -> tuple[RefitStep, ...]:
    """Return the steps for parts of these sets, from which `removed_items` had been taken.

    The remover refits the tyres: a set whose tyres the shop removed leaves with tyres, or
    new ones; every other wheel leaves without a tyre. Of a whole car the shop fits the wheels, too.
    The last steps are care, as `usage` asks for.
    """
    removed = frozenset(removed_items)
    facts = [_facts(one, removed, bringing) for one in part_sets]
    steps = tuple(
        RefitStep(
            key=row["key"],
            title=sentence(row["title"]),
            says=_says(row, wheels),
            caution=bool(row.get("caution")),
            source=Message(row["source"]),
        )
        for row in _ROWS
        if any(holds(row["when"], about) for about in facts)
    )
    return steps + care_steps(usage)


def handbook_for(declared: Declared) -> Message | None:
    """Return what stands above the guide: whose handbook wins; None for parts of no vehicle."""
    facts = [_facts(one, frozenset(), declared.bringing) for one in declared.sets]
    rows = (row for row in _TABLE["handbook"] if any(holds(row["when"], one) for one in facts))
    return next((sentence(row["says"]) for row in rows), None)


def recheck() -> Message:
    """Return when nuts and bolts are checked again with a torque wrench."""
    return next(sentence(row["says"]) for row in _ROWS if row["key"] == "recheck")


def told_at_hand_back(declared: Declared) -> Message | None:
    """Return what staff tell the customer about nuts and bolts; None where no wheel goes home."""
    if not any(one.kind is PartKind.WHEEL for one in declared.sets):
        return None
    whole = declared.bringing is Bringing.WHOLE_CAR
    return sentence(_TABLE["hand_back"]["on_the_car" if whole else "says"])


def _says(row: Mapping[str, Any], wheels: Sequence[Wheel]) -> Message:
    says = sentence(row["says"])
    if row["key"] == "same_car":
        return joined((says, _corners(wheels)))
    if row["key"] == "on_the_car" and _known(wheels):
        at = sentence(_TABLE["corners"]["on_the_car"], wheels=_known(wheels))
        return joined((says, at))
    return says


def _known(wheels: Sequence[Wheel]) -> list[Message]:
    return [
        Message("{wheel} → {corner}", wheel=one.name, corner=one.corner)
        for one in wheels
        if one.known
    ]


def _corners(wheels: Sequence[Wheel]) -> Message:
    """Return which wheel goes where, as far as it is known."""
    table, known = _TABLE["corners"], _known(wheels)
    unknown = [one.name for one in wheels if not one.known]
    if not known:
        return Message(table["none" if wheels else "before"])
    if not unknown:
        return sentence(table["all"], wheels=known)
    return sentence(table["some"], wheels=known, unknown=unknown)


def _facts(one: PartSet, removed: frozenset[Item], bringing: Bringing | None) -> Facts:
    off = Item.TYRE in one.fitted and one.removers.get(Item.TYRE) is not Remover.YOU
    ours = off and one.new_tyres is not NewTyres.LATER
    return {
        "kind": frozenset({one.kind}),
        "removed": removed,
        "closed": frozenset(one.closed),
        "tyres": frozenset({"ours" if ours else "theirs"}),
        "bringing": frozenset({bringing} if bringing else ()),
    }
