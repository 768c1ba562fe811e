"""Appraisals put together by hand, so that the price is tested apart from the trade's rules."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from portal.craft.answers import (
    Appraisal,
    Caution,
    CautionKind,
    Coat,
    CoatPlan,
    NewPart,
    Removal,
    RouteKind,
    SetAppraisal,
    StripRoute,
    Surface,
)
from portal.craft.looks import CoatRole
from portal.craft.messages import Message
from portal.craft.parts import (
    Bringing,
    Declared,
    Effect,
    Item,
    Layer,
    Metal,
    PartKind,
    PartSet,
    Powder,
    Remover,
    Rim,
    System,
)
from portal.shop.pricing.price_list import Tariff, read_tariff

HOUSE = Path(__file__).resolve().parents[2]
PRICES: dict[str, Any] = tomllib.loads((HOUSE / "demo_seed/shop.toml").read_text("utf-8"))["prices"]
NEW = {
    Item.VALVE: (NewPart.VALVE,),
    Item.SENSOR: (NewPart.SENSOR_SEAL, NewPart.CORE),
    Item.WEIGHTS: (NewPart.WEIGHTS,),
}


def tariff(**over: Any) -> Tariff:
    """The demo's price list with some sections replaced."""
    return read_tariff({**PRICES, **over})


def wheels(count: int = 4, size: float | None = 18, **more: Any) -> PartSet:
    rim = None if size is None else Rim(size, 8)
    more.setdefault("layers", (Layer.FACTORY_PAINT,))
    more.setdefault("metal", Metal.FORGED_ALUMINIUM)
    return PartSet(key="A", kind=PartKind.WHEEL, count=count, rim=rim, **more)


def route(*kinds: RouteKind, outside: bool = False) -> StripRoute:
    return StripRoute(
        kinds=kinds or (RouteKind.BLAST,),
        bench_minutes=0,
        blast_minutes=10,
        outside=outside,
        outside_days=3 if outside else 0,
        why=(Message("Because of what is on it now."),),
        forbids=(),
        leaves=(),
    )


def removal(item: Item, *who: Remover) -> Removal:
    return Removal(
        item=item,
        must=True,
        order=1,
        why=(Message("It would not survive the oven."),),
        tool=Message("By hand"),
        step=Message("Take it off."),
        happens=Message("It is kept."),
        who_may=who or (Remover.US, Remover.YOU),
        new_parts=NEW.get(item, ()),
    )


def plan(system: System, effect: Effect = Effect.SOLID, *, bake: bool = False) -> CoatPlan:
    powder = Powder("X", "X", (50, 0, 0), 80, effect)
    return CoatPlan(
        system=system,
        coats=(Coat(CoatRole.COLOUR, powder, (60, 90), 180, 15),),
        film_um=(60, 90),
        gloss_gu=(75, 95),
        pre_bake=(180, 20.0) if bake else None,
    )


def answer(
    one: PartSet,
    *,
    way: StripRoute | None = None,
    off: Iterable[Removal] = (),
    coats: CoatPlan | None = None,
    area: float | None = None,
    refused: bool = False,
) -> SetAppraisal:
    no = Caution("crack", CautionKind.REFUSE, Message("A crack is never coated over."))
    return SetAppraisal(
        part_set=one,
        surface=None if area is None else Surface(area, 0.1, (500, 500, 200), 10),
        route=way or route(),
        removals=tuple(off),
        coats=coats,
        needs=(),
        masks=(),
        heat=None,
        cautions=(no,) if refused else (),
    )


def appraisal(*answers: SetAppraisal, bringing: Bringing | None = Bringing.COMPLETE) -> Appraisal:
    return Appraisal(sets=answers, cautions=(), bringing=bringing)


def declared(*answers: SetAppraisal, **more: Any) -> Declared:
    return Declared(sets=tuple(a.part_set for a in answers), **more)


def without(body: Mapping[str, Any], *keys: str) -> dict[str, Any]:
    return {key: value for key, value in body.items() if key not in keys}


def keyed(one: SetAppraisal, key: str) -> SetAppraisal:
    return replace(one, part_set=replace(one.part_set, key=key))
