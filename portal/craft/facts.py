"""A set as the conditions of the trade's tables see it.

A row of a table may have `when`, for example `{kind = ["wheel"], metal = ["steel"]}`: it holds when
each key has one of its words. `not_` before a key negates it.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from portal.craft.answers import CoatPlan
from portal.craft.messages import Message
from portal.craft.parts import (
    Bringing,
    Closed,
    FaceStyle,
    Layer,
    Metal,
    PartKind,
    PartSet,
    WheelBuild,
)
from portal.craft.tables import sentence

Facts = Mapping[str, frozenset[str]]

ALUMINIUM = frozenset({Metal.CAST_ALUMINIUM, Metal.FORGED_ALUMINIUM})
IRON = frozenset({Metal.STEEL, Metal.CAST_IRON, Metal.STAINLESS, Metal.GALVANISED})
FULL_SET = 4
# bare, these rust; a metal that nobody knows may be one of them
RUSTING = frozenset({Metal.STEEL, Metal.CAST_IRON, Metal.GALVANISED, Metal.UNKNOWN})
# softened by heat, people ride on it
LOAD_BEARING = frozenset({PartKind.WHEEL, PartKind.CALIPER, PartKind.FRAME})
# what can be closed, sealed or under pressure somewhere
CAN_BE_CLOSED = frozenset(PartKind) - {PartKind.WHEEL, PartKind.CALIPER, PartKind.PLATE}

_METAL_OF_BUILD = {
    WheelBuild.CAST: Metal.CAST_ALUMINIUM,
    WheelBuild.FORGED: Metal.FORGED_ALUMINIUM,
    WheelBuild.STEEL: Metal.STEEL,
    WheelBuild.MAGNESIUM: Metal.MAGNESIUM,
    WheelBuild.CARBON: Metal.CARBON,
}
# where the build doesn't settle the metal and the customer doesn't know it
_USUAL_METAL = {
    WheelBuild.MULTI_PIECE: Metal.FORGED_ALUMINIUM,
    WheelBuild.CHROME_PLATED: Metal.CAST_ALUMINIUM,
}


def base_metal(part_set: PartSet) -> Metal:
    """Return the metal under all finishes; the wheel's build is more precise than its metal field.

    Steel with a zinc layer counts as galvanised steel, and a spring of an unknown metal as steel.
    """
    build = part_set.build
    if part_set.kind is PartKind.WHEEL and build is not None:
        if build in _METAL_OF_BUILD:
            return _METAL_OF_BUILD[build]
        if part_set.metal is Metal.UNKNOWN and build in _USUAL_METAL:
            return _USUAL_METAL[build]
    if part_set.metal is Metal.UNKNOWN and Closed.SPRING in part_set.closed:
        return Metal.STEEL
    if part_set.metal in (Metal.STEEL, Metal.UNKNOWN) and Layer.GALVANISED in part_set.layers:
        return Metal.GALVANISED
    return part_set.metal


def face_of(part_set: PartSet) -> FaceStyle:
    """Return the face of a wheel: the one that was told, else the usual one of its metal."""
    usual = FaceStyle.STEEL_HOLES if base_metal(part_set) in IRON else FaceStyle.FEW_SPOKES
    return part_set.face or usual


def rusts(part_set: PartSet) -> bool:
    """Return whether the bare metal may rust, so that blasted parts must be coated soon."""
    return base_metal(part_set) in RUSTING


# outermost first: how layers lie on each other when several are ticked
OUTERMOST_FIRST = (
    Layer.PEELABLE,
    Layer.WRAP,
    Layer.LIQUID_PAINT,
    Layer.POWDER,
    Layer.FACTORY_PAINT,
    Layer.MACHINED,
    Layer.CHROME,
    Layer.GALVANISED,
    Layer.BARE,
    Layer.UNKNOWN,
)


def layers_on(part_set: PartSet) -> tuple[Layer, ...]:
    """Return the layers, outermost first, with those that the build or the metal implies.

    No layer counts as unknown. A rubber coating or a wrap always sits on something, so on its own
    it is assumed to hide an unknown finish.
    """
    layers = list(part_set.layers) or [Layer.UNKNOWN]
    if part_set.build is WheelBuild.CHROME_PLATED and Layer.CHROME not in layers:
        layers = [*(layer for layer in layers if layer is not Layer.UNKNOWN), Layer.CHROME]
    if base_metal(part_set) is Metal.GALVANISED and Layer.GALVANISED not in layers:
        layers.append(Layer.GALVANISED)
    if set(layers) <= {Layer.PEELABLE, Layer.WRAP}:
        layers.append(Layer.UNKNOWN)
    return tuple(layers)


def facts_of(
    part_set: PartSet, bringing: Bringing | None = None, plan: CoatPlan | None = None
) -> Facts:
    """Return the facts about one set for `holds`; `top` is the effect of its last coat."""
    finish = part_set.finish
    return {
        "kind": frozenset({part_set.kind}),
        "metal": frozenset({base_metal(part_set)}),
        "build": frozenset({part_set.build} if part_set.build else ()),
        "layer": frozenset(layers_on(part_set)),
        "told_layer": frozenset(part_set.layers),
        "damage": frozenset(part_set.damage),
        "fitted": frozenset(part_set.fitted),
        "system": frozenset({finish.system} if finish else ()),
        "bringing": frozenset({bringing} if bringing else ()),
        "top": frozenset({plan.coats[-1].powder.effect} if plan else ()),
        "closed": frozenset(part_set.closed or ("unasked",)),
        "colour": frozenset(("yellow_to_red",) if part_set.yellow_to_red else ()),
        "found": frozenset(part_set.found),
        "choice": frozenset({"sample"} if finish and finish.decide_from_sample else ()),
        "count": frozenset({"under_four"} if part_set.count < FULL_SET else ()),
    }


def holds(when: Mapping[str, Iterable[str]], facts: Facts) -> bool:
    """Return whether every key of `when` matches the facts; an empty `when` always holds."""
    for key, words in when.items():
        turned = key.startswith("not_")
        if facts[key.removeprefix("not_")].isdisjoint(words) is not turned:
            return False
    return True


def sentence_of(row: Mapping[str, Any], key: str) -> Message | None:
    """Return the sentence of a table's row, or None where the row has none."""
    return sentence(row[key]) if row.get(key) else None


def all_told(rows: Iterable[str]) -> tuple[Message, ...]:
    """Return the sentences of a table's list."""
    return tuple(sentence(text) for text in rows)
