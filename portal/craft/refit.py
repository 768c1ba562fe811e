"""The guide after pickup, adapted to what was coated and what had been taken off.

No torque figure is ever printed: the vehicle handbook has it, and it wins over this guide.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from portal.craft.answers import RefitStep
from portal.craft.bringing import NewTyres
from portal.craft.care import care_steps
from portal.craft.facts import Facts, holds
from portal.craft.messages import Message
from portal.craft.parts import Declared, Item, PartSet, Remover, Usage
from portal.craft.tables import sentence, toml_table

_ROWS: tuple[Mapping[str, Any], ...] = tuple(toml_table("refit.toml")["step"])


def guide_for(declared: Declared) -> tuple[RefitStep, ...]:
    """Return the steps that fit what was coated and what was taken off, by whomever."""
    removed = frozenset(
        item
        for one in declared.sets
        for item in one.fitted
        if one.removers.get(item, Remover.US) is not Remover.STAYS
    )
    return guide(declared.sets, removed, declared.usage)


def guide(
    part_sets: Iterable[PartSet], removed_items: Iterable[Item], usage: Usage | None = None
) -> tuple[RefitStep, ...]:
    """Return the steps for parts of these sets, from which `removed_items` had been taken.

    The remover refits the tyres: a set whose tyres the shop removed leaves with tyres, or
    new ones; every other wheel leaves without a tyre. The last steps are care, as `usage` asks for.
    """
    removed = frozenset(removed_items)
    facts = [_facts(one, removed) for one in part_sets]
    steps = tuple(
        RefitStep(
            key=row["key"],
            title=Message(row["title"]),
            says=sentence(row["says"]),
            caution=bool(row.get("caution")),
            source=Message(row["source"]),
        )
        for row in _ROWS
        if any(holds(row["when"], about) for about in facts)
    )
    return steps + care_steps(usage)


def _facts(one: PartSet, removed: frozenset[Item]) -> Facts:
    off = Item.TYRE in one.fitted and one.removers.get(Item.TYRE) is not Remover.YOU
    ours = off and one.new_tyres is not NewTyres.LATER
    return {
        "kind": frozenset({one.kind}),
        "removed": removed,
        "tyres": frozenset({"ours" if ours else "theirs"}),
    }
