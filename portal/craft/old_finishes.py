"""The old finish of a part and how it is removed: the strip route by layers and metal."""

from collections.abc import Iterable, Mapping
from typing import Any

from portal.craft.answers import RouteKind, StripRoute
from portal.craft.check_kinds import Found
from portal.craft.damaged import how_many
from portal.craft.facts import ALUMINIUM, all_told, base_metal, layers_on
from portal.craft.messages import Message
from portal.craft.never import forbids
from portal.craft.parts import Damage, Layer, Metal, PartKind, PartSet
from portal.craft.tables import sentence, toml_table

_TABLE = toml_table("strip.toml")

# the area of an 18-inch wheel, for which the table's blasting minutes stand
USUAL_AREA_M2 = 0.9
LEAST_SCALE, MOST_SCALE = 0.25, 8.0
# a further layer under the worst one adds half of its own time
FURTHER_LAYER = 0.5
BATH = (RouteKind.CHEMICAL, RouteKind.DEPLATE, RouteKind.LICENSED)


def route(
    part_set: PartSet, *, area_m2: float | None = None, before_1980: bool = False
) -> StripRoute:
    """Return how the layers of `part_set` are removed. Never raise.

    Blasting minutes scale with the area of one part (m²), where it is known. Minutes by hand for
    damage that only some parts have are shared out among all of them.
    """
    metal = base_metal(part_set)
    if metal in (Metal.MAGNESIUM, Metal.CARBON):
        return _refused(metal)
    layers = layers_on(part_set)
    group = "zinc" if Layer.GALVANISED in layers else str(_TABLE["groups"][metal])
    rows = [_row(layer, group) for layer in layers]
    lead = Found.LEAD in part_set.found
    if lead:
        rows = [_TABLE["lead"]]
    kinds = _kinds(rows)
    damage = [
        _TABLE["minutes"].get(hurt, 0) * how_many(part_set, hurt) / part_set.count
        for hurt in part_set.damage
    ]
    return StripRoute(
        kinds=kinds,
        bench_minutes=float(sum(row["bench"] for row in rows) + sum(damage)),
        blast_minutes=_blast_minutes(rows, area_m2),
        outside=any(kind in kinds for kind in BATH),
        outside_days=_days(rows),
        why=_once(row["why"] for row in rows),
        forbids=forbids(part_set, before_1980=before_1980),
        leaves=_leaves(rows, part_set.damage),
        to_inspect=_to_inspect(part_set, layers, metal, before_1980=before_1980),
    )


def _refused(metal: Metal) -> StripRoute:
    refused = sentence(_TABLE["refused"][metal])
    return StripRoute(
        kinds=(RouteKind.NOT_HERE,),
        bench_minutes=0.0,
        blast_minutes=0.0,
        outside=False,
        outside_days=0,
        why=(refused,),
        forbids=(),
        leaves=(),
        refused=refused,
    )


def _row(layer: Layer, group: str) -> Mapping[str, Any]:
    """Return the row of a layer: one for all metals, or one for each group of metals."""
    row: Mapping[str, Any] = _TABLE["layer"][layer]
    found: Mapping[str, Any] = row if "kinds" in row else row[group]
    return found


def _kinds(rows: Iterable[Mapping[str, Any]]) -> tuple[RouteKind, ...]:
    """Return the steps from the outermost layer inwards; blasting is once and last."""
    kinds = dict.fromkeys(RouteKind(kind) for row in rows for kind in row["kinds"])
    blast = [RouteKind.BLAST]  # under a peelable layer there's always one that is blasted
    return (*(kind for kind in kinds if kind is not RouteKind.BLAST), *blast)


def _blast_minutes(rows: Iterable[Mapping[str, Any]], area_m2: float | None) -> float:
    each = sorted((float(row.get("blast", 0)) for row in rows), reverse=True)
    whole = each[0] + FURTHER_LAYER * sum(each[1:])
    scale = min(max((area_m2 or USUAL_AREA_M2) / USUAL_AREA_M2, LEAST_SCALE), MOST_SCALE)
    return round(whole * scale, 1)


def _days(rows: Iterable[Mapping[str, Any]]) -> int:
    """Return the working days away: one stay in the stripping bath, one at the de-plater."""
    stays: dict[str, int] = {}
    for row in rows:
        where = row["kinds"][0]
        stays[where] = max(stays.get(where, 0), row.get("days", 0))
    return sum(stays.values())


def _leaves(rows: Iterable[Mapping[str, Any]], damage: Iterable[Damage]) -> tuple[Message, ...]:
    words = _TABLE["leaves"]
    return _once(
        (*(row["leaves"] for row in rows), *(words[hurt] for hurt in damage if hurt in words))
    )


def _once(texts: Iterable[str]) -> tuple[Message, ...]:
    return all_told(dict.fromkeys(texts))


def _to_inspect(
    part_set: PartSet, layers: tuple[Layer, ...], metal: Metal, *, before_1980: bool
) -> tuple[Message, ...]:
    damaged = bool(part_set.damage) and part_set.kind is PartKind.WHEEL
    holds = {
        "metal": metal is Metal.UNKNOWN,
        "layers": Layer.UNKNOWN in layers,
        "plating": Layer.CHROME in layers,
        "old_paint": before_1980,
        "cracks": damaged and metal in ALUMINIUM,
    }
    return tuple(sentence(text) for key, text in _TABLE["inspect"].items() if holds[key])


def inspection_key(says: Message) -> str:
    """Return the key of an inspection, so that it is mentioned once an order."""
    return next((key for key, text in _TABLE["inspect"].items() if text == says.msgid), "first")
