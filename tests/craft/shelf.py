"""A shelf of powders and a few sets, invented for these tests."""

from typing import Any

from portal.craft.parts import (
    Effect,
    FinishChoice,
    Gloss,
    Item,
    Layer,
    PartKind,
    PartSet,
    Powder,
    Rim,
    System,
    WheelBuild,
)

SHELF = {
    powder.code: powder
    for powder in (
        Powder("BLACK", "Soot black", (10, 0, -1), 85, stock_kg=20),
        Powder("BLACK-S", "Soot black satin", (10, 0, -1), 45, stock_kg=20),
        Powder("RED", "Brick red", (38, 50, 36), 85, stock_kg=0, lead_days=6),
        Powder("PEWTER", "Pewter", (55, 0, 2), 60, Effect.METALLIC, stock_kg=8),
        Powder("STRAW", "Straw gold", (72, 6, 35), 80, Effect.METALLIC, stock_kg=8),
        Powder("BRIGHT", "Bright base", (78, 0, 1), 88, Effect.METALLIC, stock_kg=9),
        Powder("CANDY", "Candle red", (34, 52, 30), 85, Effect.TRANSLUCENT, stock_kg=5),
        Powder("LOOK", "Looking glass", (86, -1, 0), 95, Effect.CHROME, stock_kg=5),
        Powder("GRAIN", "Grain black", (16, 0, -1), 8, Effect.TEXTURE, stock_kg=5),
        Powder("CLEAR", "Clear", (92, 0, 0), 88, Effect.CLEAR, film_um=(50, 75), stock_kg=9),
        Powder("CLEAR-S", "Clear satin", (92, 0, 0), 45, Effect.CLEAR, stock_kg=9),
    )
}


def finish(system: System, colour: str, gloss: Gloss = Gloss.GLOSS, **more: Any) -> FinishChoice:
    return FinishChoice(system=system, colour=colour, gloss=gloss, **more)


def wheels(**more: Any) -> PartSet:
    usual: dict[str, Any] = {
        "key": "A",
        "kind": PartKind.WHEEL,
        "count": 4,
        "build": WheelBuild.CAST,
        "rim": Rim(18, 8.5, offset_mm=35),
        "layers": (Layer.FACTORY_PAINT,),
        "fitted": (Item.TYRE, Item.WEIGHTS, Item.VALVE, Item.SENSOR, Item.CENTRE_CAP),
        "finish": finish(System.SINGLE, "BLACK"),
    }
    return PartSet(**(usual | more))


def part(kind: PartKind, **more: Any) -> PartSet:
    return PartSet(**({"key": "B", "kind": kind, "count": 2} | more))
