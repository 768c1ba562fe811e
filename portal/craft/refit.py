"""The guide after pickup, adapted to what was coated and what had been taken off.

No torque figure is ever printed: the vehicle handbook has it, and it wins over this guide.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from portal.craft.answers import RefitStep
from portal.craft.facts import holds
from portal.craft.parts import Item, PartSet
from portal.craft.say import say
from portal.craft.tables import toml_table

_ROWS: tuple[Mapping[str, Any], ...] = tuple(toml_table("refit.toml")["step"])


def guide(part_sets: Iterable[PartSet], removed_items: Iterable[Item]) -> tuple[RefitStep, ...]:
    """Return the steps for parts of these sets, from which `removed_items` had been taken."""
    removed = frozenset(removed_items)
    kinds = dict.fromkeys(one.kind for one in part_sets)
    facts = [{"kind": frozenset({kind}), "removed": removed} for kind in kinds]
    return tuple(
        RefitStep(
            key=row["key"],
            title=say(row["title"]),
            says=say(row["says"]),
            caution=bool(row.get("caution")),
            source=row["source"],
        )
        for row in _ROWS
        if any(holds(row["when"], about) for about in facts)
    )
