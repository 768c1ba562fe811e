"""What differs from drawn orders, what is said of it and what becomes of the order, line by line.

What it ought to be is held by `test_finding_sides` and `test_order_parts`. Here nothing may move
unnoticed, in `finding_figures.txt`; `tests.shop.figures` draws the file anew.
"""

import random
from collections.abc import Callable, Iterator
from dataclasses import fields, replace
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from portal.craft.bringing import NewTyres
from portal.craft.check_kinds import Found
from portal.craft.damaged import part_at, without
from portal.craft.hollow import Closed, Making
from portal.craft.open_answers import may_be_chrome, reasons, slow_case, usual_case
from portal.craft.parts import (
    Bringing,
    Damage,
    Declared,
    FinishChoice,
    Item,
    Layer,
    Metal,
    PartSet,
    System,
    WheelBuild,
)
from portal.shop.finding_words import describe_difference
from portal.shop.pricing.differences import (
    Difference,
    changed_between,
    kinds_of,
    only_fills,
)
from portal.shop.pricing.order_parts import OrderParts, put_into
from tests.craft.shelf import SHELF
from tests.shop.figures import kept
from tests.shop.test_appraisal_figures import RIMS, a_finish, an_order, plain, rarely, some

FILE = Path(__file__).with_name("finding_figures.txt")


def arrived(chance: random.Random, one: PartSet, count: int) -> PartSet:
    """Return some parts of a set with one to three aspects as they really are."""
    damage = some(chance, Damage, 2)
    aspects: tuple[dict[str, Any], ...] = (
        {"damage": damage, "damaged": {each: chance.randint(1, count) for each in damage}},
        {"layers": (*rarely(chance, Layer, 0.9), *rarely(chance, Layer, 0.3))},
        {"yellow_to_red": not one.yellow_to_red},
        {"fitted": some(chance, Item, 4), "new_tyres": chance.choice([*NewTyres])},
        {"metal": chance.choice([*Metal]), "made": chance.choice([*Making])},
        {"build": chance.choice([None, *WheelBuild]), "rim": chance.choice(RIMS)},
        {"size_mm": chance.choice((None, (700.0, 500.0, 300.0)))},
        {"rim_text": "8J x 18", "rim": RIMS[1]},
        {"closed": rarely(chance, Closed, 0.8)},
        {"found": some(chance, Found, 2)},
        {"finish": a_finish(chance)},
    )
    changes: dict[str, Any] = {}
    for each in chance.sample(aspects, chance.randint(1, 3)):
        changes |= each
    return replace(one, count=count, **changes)


def a_difference(chance: random.Random, order: OrderParts) -> Difference:
    many = min(chance.randint(1, 3), len(order.key_of))
    numbers = tuple(sorted(chance.sample([*order.key_of], many)))
    key = order.key_of[numbers[0]]
    own = order.set_of(key)
    assert own is not None
    real = arrived(chance, own, len(numbers))
    changed = changed_between(replace(own, count=len(numbers)), real)
    told = Difference(key, numbers, real, changed=changed)
    plainly = replace(told, arrived=own, changed=())
    more = max(order.key_of) + 1
    return chance.choice(
        [
            *[told] * 6,
            replace(plainly, missing=True),
            replace(plainly, missing=True, lost=True, note="fell off the rack"),
            replace(plainly, numbers=(more, more + 1)[: len(numbers)], more=True),
            replace(plainly, bringing=chance.choice([*Bringing]), changed=("fitted",)),
            replace(plainly, bag="B1: the bolts", note="not found"),
            replace(told, note="wet inside", changed=()),
        ]
    )


def begun(declared: Declared) -> OrderParts:
    keys = [one.key for one in declared.sets for _ in range(one.count)]
    return OrderParts(declared, dict(enumerate(keys, 1)))


def told(seed: int) -> Iterator[str]:
    chance = random.Random(seed)
    order = begun(an_order(seed))
    for one in order.declared.sets:
        yield from opened(one)
    for _ in range(4):
        if not order.key_of:
            return
        found = a_difference(chance, order)
        own = order.as_declared(
            found.set_key, order.groups_of(found.numbers).get(found.set_key, ())
        )
        kinds = " ".join(kind.value for kind in kinds_of(own, found))
        yield f"{found.set_key} {found.numbers} {kinds} fills {only_fills(own, found):d}"
        for says in describe_difference(own, found, SHELF, order.declared.bringing):
            yield f"  {plain(says)}"
        after = put_into(order, found)
        yield from (f"  now {line}" for line in changes(order.declared, after.declared))
        yield f"  {' '.join(f'{n}{key}' for n, key in after.key_of.items())}"
        order = after


def changes(before: Declared, after: Declared) -> Iterator[str]:
    """Yield what of each set became different, and what of the whole order."""
    was = {one.key: one for one in before.sets}
    for one in after.sets:
        first = was.get(one.key, before.sets[0])
        own = [f"{name}={value}" for name, value in differing(first, one) if name != "key"]
        if own or one.key not in was:
            yield f"{one.key} {' '.join(own)}"
    yield from (f"{name}={value}" for name, value in differing(before, after) if name != "sets")


def differing(was: PartSet | Declared, now: PartSet | Declared) -> Iterator[tuple[str, str]]:
    for one in fields(now):
        value = getattr(now, one.name)
        if value != getattr(was, one.name):
            yield one.name, plain(value)


def opened(one: PartSet) -> Iterator[str]:
    slow = " ".join(f"{name}={value}" for name, value in differing(one, slow_case(one)))
    usual = plain(usual_case(one, (Layer.POWDER,)).layers)
    why = " ".join(sorted(each.value for each in reasons(one)))
    later = replace(one, finish=FinishChoice(System.SINGLE, decide_from_sample=True))
    why += " / " + " ".join(sorted(each.value for each in reasons(later)))
    yield f"{one.key} open {may_be_chrome(one):d} slow {slow} usual {usual} why {why}"
    for place in range(min(one.count, 2)):
        alone = part_at(one, place)
        yield f"  {place} {plain(alone.damage)} {plain(alone.damaged)}"
    for damage in one.damage:
        left = without(one, [damage])
        yield f"  without {damage.value} {left.count} {plain(left.damage)} {plain(left.damaged)}"


# orders of enough parts that some can differ from the rest
SEEDS = [seed for seed in range(100) if sum(one.count for one in an_order(seed).sets) > 3]
SCENES: dict[str, Callable[[], Iterator[str]]] = {str(seed): partial(told, seed) for seed in SEEDS}


@pytest.fixture(scope="module")
def known() -> dict[str, list[str]]:
    return kept(FILE)


@pytest.mark.parametrize("name", SCENES)
def test_what_differs_from_an_order(known: dict[str, list[str]], name: str) -> None:
    assert list(SCENES[name]()) == known[name]
