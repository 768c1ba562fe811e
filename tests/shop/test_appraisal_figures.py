"""Appraisals and quotes of orders of every kind, figure by figure, in `appraisal_figures.txt`.

What these figures ought to be is held elsewhere, against published ones. Here nothing may move
them unnoticed: the orders are drawn by a seed and meet all of the trade's rules. Sentences are
left out, but for the figures in them. `tests.shop.figures` draws the file anew.
"""

import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from datetime import date
from decimal import Decimal
from enum import Enum
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from portal.craft.answers import SetAppraisal
from portal.craft.appraise import Practice, appraise
from portal.craft.bringing import NewTyres, Whereabouts
from portal.craft.check_kinds import Found
from portal.craft.finishes import powders_for
from portal.craft.hollow import Closed, Making
from portal.craft.messages import CraftError, Message
from portal.craft.parts import (
    BareZone,
    Bringing,
    Damage,
    Declared,
    FaceStyle,
    FinishChoice,
    Gloss,
    Item,
    Layer,
    Metal,
    PartKind,
    PartSet,
    Powder,
    Remover,
    Rim,
    System,
    Tyre,
    WheelBuild,
)
from portal.craft.registration import Country, Permission
from portal.shop.pricing.quote import Quote, quote
from portal.shop.scheduling.station import Oven
from portal.shop.scheduling.stations import part_work
from tests.craft.shelf import SHELF
from tests.shop.appraised import tariff
from tests.shop.figures import kept
from tests.shop.floors import a_floor

FILE = Path(__file__).with_name("appraisal_figures.txt")
PRACTICE = Practice(
    stock=SHELF, heat_limit_min_at_200=80, place_decision="yes", abroad_decision="yes"
)
FLOOR = a_floor(oven=Oven())
FLOOR = FLOOR.having(
    *(replace(one, minutes=n + 2.0, per_m2=n / 4) for n, one in enumerate(FLOOR.by_key))
)
ON = date(2026, 6, 1)
ORDERS = 50


def some(chance: random.Random, words: Any, most: int) -> tuple[Any, ...]:
    return tuple(chance.sample(list(words), chance.randint(0, most)))


def rarely(chance: random.Random, words: Any, share: float = 0.15) -> tuple[Any, ...]:
    return (chance.choice(list(words)),) if chance.random() < share else ()


def a_finish(chance: random.Random) -> FinishChoice | None:
    if chance.random() < 0.2:
        return None
    system = chance.choice([System.SINGLE, *System])
    gloss = chance.choice([Gloss.GLOSS, Gloss.GLOSS, Gloss.SATIN, Gloss.MATT])
    fits = [one.code for one in powders_for(system, gloss, SHELF)]
    second = chance.choice(["", "", "", *fits])
    return FinishChoice(
        system=system,
        colour=chance.choice([*(fits * 3), *SHELF] if chance.random() < 0.2 else [*fits, ""]),
        gloss=gloss,
        face=second,
        barrel=chance.choice(["", second, *fits]),
        bare=some(chance, BareZone, 2),
    )


def a_set(chance: random.Random, key: str) -> PartSet:
    kind = chance.choice([PartKind.WHEEL] * 9 + list(PartKind))
    wheel, count = kind is PartKind.WHEEL, chance.choice((1, 2, 4, 7))
    damage = rarely(chance, Damage, 0.4)
    sizes = (None, (2500.0, 60.0, 40.0), (700.0, 500.0, 300.0), (90.0, 80.0, 3.0))
    return PartSet(
        key=key,
        kind=kind,
        count=count,
        metal=chance.choice(
            [Metal.STEEL, Metal.CAST_ALUMINIUM, Metal.UNKNOWN, *rarely(chance, Metal)]
        ),
        build=chance.choice(
            [None, WheelBuild.CAST, WheelBuild.FORGED, *rarely(chance, WheelBuild, 0.5)]
        )
        if wheel
        else None,
        rim=chance.choice(RIMS) if wheel else None,
        tyre=chance.choice([None, Tyre(18, 225, 40)]) if wheel else None,
        face=chance.choice([None, *FaceStyle]) if wheel else None,
        size_mm=None if wheel else chance.choice(sizes),
        made=chance.choice(list(Making)),
        closed=rarely(chance, Closed),
        layers=(*rarely(chance, Layer, 0.8), *rarely(chance, Layer)),
        yellow_to_red=chance.random() < 0.3,
        found=rarely(chance, Found),
        damage=damage,
        damaged={one: chance.randint(1, count) for one in damage if chance.random() < 0.5},
        fitted=some(chance, Item, 7),
        removers={one: chance.choice([*Remover][:2]) for one in some(chance, Item, 5)},
        new_tyres=chance.choice(list(NewTyres)),
        finish=a_finish(chance),
        permission=chance.choice([None, *Permission]),
    )


RIMS = [
    None,
    Rim(18, 8, offset_mm=35, bolts=5, bolt_circle_mm=112, bore_mm=66.6),
    Rim(15, 6),
    Rim(21, 11.5, offset_mm=-10),
    Rim(22.5, 8.25, ""),
]


def an_order(seed: int) -> Declared:
    chance = random.Random(seed)
    return Declared(
        sets=tuple(a_set(chance, key) for key in "AB"[: chance.choice((1, 1, 2))]),
        bringing=chance.choice([None, *Bringing]),
        whereabouts=chance.choice([None, *Whereabouts]),
        rush=chance.random() < 0.3,
        original_before_1980=chance.random() < 0.2,
        registered=chance.choice([None, *Country]),
    )


def plain(value: Any) -> str:
    """Return a value in a few characters; of a message only the figures in it."""
    match value:
        case Powder():
            found = value.code
        case Message():
            found = f"<{' '.join(plain(one) for one in value.values.values())}>"
        case Enum():
            found = str(value.value)
        case float() | Decimal():
            found = f"{value:.4g}"
        case Mapping():
            found = plain(tuple(value.items()))
        case tuple():
            found = f"({' '.join(map(plain, value))})"
        case _ if is_dataclass(value):
            found = plain(tuple(getattr(value, one.name) for one in fields(value)))
        case _:
            found = str(value)
    return found


def of_set(one: SetAppraisal) -> Iterator[str]:
    told = (one.surface, one.route, one.heat, one.checks, one.powder_days, one.refitted)
    for name, value in zip(
        ("surface", "route", "heat", "checks", "days", "refit"), told, strict=True
    ):
        yield f"{name} {plain(value)}"
    for name, rows in (
        ("off", one.removals),
        ("need", one.needs),
        ("mask", one.masks),
        (
            "caution",
            tuple((c.key, c.kind, c.about, c.parts, c.says, c.instead) for c in one.cautions),
        ),
    ):
        yield from (f"{name} {plain(row)}" for row in rows)
    if one.coats:
        yield f"coats {plain(one.coats)}"
    yield f"work {plain(part_work(one, FLOOR, refit=one.refitted))}"
    yield f"possible {' '.join(plain(p.part_set.finish) for p in one.possible)}"


def of_quote(found: Quote) -> Iterator[str]:
    for one in found.lines:
        sums = (
            one.amount.minor,
            one.low.minor,
            one.high.minor,
            one.count,
            one.each,
            one.says,
            one.why,
        )
        yield f"{one.key} {plain(sums)}"
    whole = (found.net, found.tax, found.total, found.low, found.high, found.deposit)
    yield f"sums {plain(tuple(one.minor for one in whole))}"


def told(seed: int) -> Iterator[str]:
    order = an_order(seed)
    try:
        answer = appraise(order, PRACTICE)
    except CraftError as refused:
        yield f"refused {refused.key}"
        return
    for one in answer.sets:
        yield from of_set(one)
    yield f"order {plain(tuple(one.key for one in answer.cautions))}"
    yield from of_quote(quote(order, answer, tariff(), ON))


SCENES: dict[str, Callable[[], Iterator[str]]] = {
    str(seed): partial(told, seed) for seed in range(ORDERS)
}


@pytest.fixture(scope="module")
def known() -> dict[str, list[str]]:
    return kept(FILE)


@pytest.mark.parametrize("name", SCENES)
def test_the_figures_of_an_order(known: dict[str, list[str]], name: str) -> None:
    assert list(SCENES[name]()) == known[name]
