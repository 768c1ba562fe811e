"""Assessments of drawn orders in the demo's shop, line by line, in `assessment_figures.txt`:

what is assumed while something is open, prices with their figures, how parts can be brought, what
is to be done for it, and what each old finish or damage would change. What they ought to be is held
by tests of their own. `tests.shop.figures` draws the file anew.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache, partial
from pathlib import Path

import pytest

from portal.craft.messages import CraftError
from portal.craft.parts import Damage, Declared, Layer
from portal.shop.assessment.assess import Assessment, assess, assess_draft
from portal.shop.assessment.defaults import sensible, usual_finish, usual_way
from portal.shop.assessment.delivery_options import Way, usual_days, ways
from portal.shop.assessment.open_cases import cases_of, longest_of
from portal.shop.pricing.consequences import of_damage, of_layer
from portal.shop.pricing.quote import difference
from portal.shop.shop import Shop, read_shop
from tests.readers import english
from tests.shop.figures import kept
from tests.shop.test_appraisal_figures import ON, an_order, plain
from tests.shop.test_order_file import POWDERS, SHOP

FILE = Path(__file__).with_name("assessment_figures.txt")


@cache
def a_shop() -> Shop:
    return read_shop(SHOP, POWDERS)


def ordered(seed: int) -> Declared:
    """Return a drawn order with a colour of the shop, or with none, and now and then with gaps."""
    declared, powders = an_order(seed), [*a_shop().stock]
    sets = []
    for n, one in enumerate(declared.sets):
        finish = one.finish and replace(one.finish, face="", barrel="", colour=powders[seed + n])
        if finish and seed % 4 == 1:
            finish = replace(finish, colour="", decide_from_sample=True)
        gap = {"rim": None, "layers": (Layer.UNKNOWN,)} if seed % 5 == 2 else {}
        sets.append(replace(one, finish=finish, permission=None, **gap))
    return replace(declared, sets=tuple(sets))


def told(seed: int) -> Iterator[str]:
    declared, shop = ordered(seed), a_shop()
    yield f"{usual_way(declared).value} of {plain(sensible(declared))}"
    for one in declared.sets:
        yield f"usual {plain(usual_finish(one, shop.practice, one.finish))}"
        yield from _consequences(one, shop)
    yield f"longest {plain(longest_of(declared).sets)}"
    yield f"cases {plain(cases_of(declared, shop.practice))}"
    try:
        drawn = assess_draft(declared, shop, ON, frozenset("B"))
        order = assess(declared, shop, ON)
    except CraftError as refused:
        yield f"{refused.key}: {english(refused.sentence)}"
        return
    yield f"assumed {len(drawn.assumed)}"
    yield from _priced(order)
    yield from _priced(replace(order, quote=drawn.quote))
    for line in difference(order.quote, drawn.quote):
        yield f"other {line.key} {plain(line.says)} {plain((line.low, line.amount, line.high))}"
    for way in ways(declared, shop, ON):
        yield from _brought(way)
    days = [usual_days(order.appraisal, shop.tariff, tyres=tyres) for tyres in (False, True)]
    yield f"days {days}"


def _consequences(one, shop: Shop) -> Iterator[str]:
    for layer in (Layer.FACTORY_PAINT, Layer.POWDER, Layer.CHROME):
        found = of_layer(one, layer, shop.practice, shop.tariff)
        yield f"{layer.value} {plain(found)} {found.free:d}"
    for damage in Damage:
        found = of_damage(one, damage, shop.practice, shop.tariff)
        yield f"{damage.value} {plain(found)} {found.free:d}"


def _priced(order: Assessment) -> Iterator[str]:
    yield plain((order.price.sentence, order.price.limit))
    for one in order.quote.lines:
        yield f"{one.key} {plain((one.says, one.low, one.amount, one.high, one.why))}"
    for cautions in (order.refused, order.to_confirm, order.to_know):
        yield f"cautions {plain(tuple(one.key for one in cautions))}"


def _brought(way: Way) -> Iterator[str]:
    yield plain(replace(way, errands=(), per_item=()))
    yield from (f"  {plain(one)}" for one in way.errands)
    yield from (f"  {plain(one)}" for one in way.per_item)


SCENES: dict[str, Callable[[], Iterator[str]]] = {
    str(seed): partial(told, seed) for seed in range(26)
}


@pytest.fixture(scope="module")
def known() -> dict[str, list[str]]:
    return kept(FILE)


@pytest.mark.parametrize("name", SCENES)
def test_what_follows_from_an_order(known: dict[str, list[str]], name: str) -> None:
    assert list(SCENES[name]()) == known[name]
