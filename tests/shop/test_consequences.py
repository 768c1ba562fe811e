"""What stands beside a choice is what the price list and the strip calendar make of it."""

from dataclasses import replace

import pytest

from portal.craft.appraise import appraise
from portal.craft.parts import Damage, Declared, Layer, PartKind, PartSet
from portal.shop.pricing.consequences import of_damage, of_layer
from portal.shop.pricing.quote import quote
from tests.shop.test_delivery_options import ON, order, shop

KINDS = list(PartKind)


def price(one: PartSet):
    declared = Declared((one,))
    return quote(declared, appraise(declared, shop().practice), shop().tariff, ON)


def layer(one: PartSet, which: Layer):
    return of_layer(one, which, shop().practice, shop().tariff)


def damage(one: PartSet, which: Damage):
    return of_damage(one, which, shop().practice, shop().tariff)


@pytest.mark.parametrize("which", Layer)
def test_a_layer_costs_beside_its_name_what_it_costs_in_the_price(which: Layer) -> None:
    one = replace(order().sets[0], layers=(Layer.BARE,), count=4)
    told = layer(one, which)
    with_it = price(replace(one, layers=(which,)))
    transport = next((n.amount.minor for n in with_it.lines if n.key == "transport"), 0)
    rounding = 100  # the whole sum is rounded to 50 pence
    for total, before, each in (
        (with_it.low, price(one).low, told.low),
        (with_it.high, price(one).high, told.high),
    ):
        assert abs(total.minor - transport - before.minor - 4 * each.minor) <= rounding


def test_chrome_takes_as_much_longer_as_the_strip_table_says() -> None:
    one = order().sets[0]
    assert layer(one, Layer.CHROME).days == 10
    assert layer(one, Layer.BARE).days == 0
    assert layer(one, Layer.BARE).free


@pytest.mark.parametrize("which", Damage)
def test_a_damage_costs_beside_its_name_what_it_costs_in_the_price(which: Damage) -> None:
    one = replace(order().sets[0], damage=(), count=4)
    told, with_it = damage(one, which), price(replace(one, damage=(which,)))
    assert told.refused is (which in {Damage.CRACK, Damage.OLD_WELD})
    if not told.refused:
        assert abs(with_it.high.minor - price(one).high.minor - 4 * told.high.minor) <= 100


def test_what_is_looked_at_first_says_so() -> None:
    assert damage(order().sets[0], Damage.BEND).checked
    assert not damage(order().sets[0], Damage.CORROSION).checked


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_part_has_an_answer_for_every_choice(kind: PartKind) -> None:
    one = PartSet("A", kind, 3)
    for which in Layer:
        assert layer(one, which).low.minor <= layer(one, which).high.minor
    for hurt in Damage:
        assert damage(one, hurt).low.minor <= damage(one, hurt).high.minor


def test_of_four_with_one_cracked_three_are_priced() -> None:
    cracked = order(damage=["crack", "kerb_rash"], damaged={"crack": 1, "kerb_rash": 1})
    lines = {line.key: line for line in price(cracked.sets[0]).lines}
    assert lines["A.coat"].count == 3
    assert lines["A.repair.kerb_rash"].count == 1
    assert not price(order(damage=["crack"]).sets[0]).lines
