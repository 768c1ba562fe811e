"""What is filled in before the customer has told it, and what is said of that."""

from dataclasses import replace

import pytest

from portal.craft.appraise import Practice
from portal.craft.bringing import Whereabouts
from portal.craft.parts import (
    Bringing,
    Declared,
    FinishChoice,
    Gloss,
    Item,
    Layer,
    PartKind,
    Powder,
    Remover,
    System,
)
from portal.shop.assessment.defaults import sensible, usual_way, usually_fitted, with_defaults
from portal.shop.assessment.open_cases import cases_of, longest_of
from tests.craft.shelf import SHELF, finish, part, wheels
from tests.readers import english

PRACTICE = Practice(stock=SHELF)
WHEEL = (Item.TYRE, Item.WEIGHTS, Item.VALVE, Item.SENSOR, Item.CENTRE_CAP)
NOTHING = wheels(layers=(), fitted=(), finish=None)
SAID = {
    "bringing": "delivery: “Wheels with tyres”",
    "layers": "the usual old finish",
    "fitted": "the usual parts fitted",
    "finish": "one plain colour",
}


def filled(*sets, told=(), bringing=None, **more):
    declared = Declared(sets=sets, bringing=bringing, **more)
    found, said = with_defaults(declared, PRACTICE, frozenset(told))
    return found, [english(one) for one in said]


def test_of_an_order_that_says_nothing_all_is_usual_and_each_thing_is_said() -> None:
    found, said = filled(NOTHING)
    (one,) = found.sets
    assert found.bringing is Bringing.COMPLETE
    assert (one.layers, one.fitted, one.removers) == ((Layer.FACTORY_PAINT,), WHEEL, {})
    assert one.finish == FinishChoice(System.SINGLE, "BLACK", gloss=Gloss.GLOSS)
    assert said == list(SAID.values())


@pytest.mark.parametrize("kept", ["bringing", "layers", "fitted", "finish"])
def test_what_was_told_stays_and_nothing_is_said_of_it(kept) -> None:
    one = replace(NOTHING, removers={Item.TYRE: Remover.YOU})
    if kept == "layers":
        one = replace(one, layers=(Layer.POWDER,))
    if kept == "finish":
        one = replace(one, finish=finish(System.BASE_CLEAR, "PEWTER"))
    bringing = Bringing.BARE if kept == "bringing" else None
    found, said = filled(one, told=("A",) if kept == "fitted" else (), bringing=bringing)
    assert said == [text for name, text in SAID.items() if name != kept]
    (now,) = found.sets
    assert (now.layers == one.layers) is (kept == "layers")
    assert (now.finish == one.finish) is (kept == "finish")
    assert (now.removers == one.removers) is (kept == "fitted")
    assert (found.bringing is Bringing.BARE) is (kept == "bringing")


def test_a_finish_that_is_begun_gets_its_plainest_colour() -> None:
    begun = FinishChoice(System.BASE_CLEAR, gloss=Gloss.SATIN)
    found, said = filled(replace(NOTHING, finish=begun))
    (one,) = found.sets
    assert one.finish is not None
    assert (one.finish.system, one.finish.gloss) == (System.BASE_CLEAR, Gloss.SATIN)
    assert SHELF[one.finish.colour].stock_kg > 0
    assert said[-1] == "a plain colour"


def test_where_nothing_can_be_baked_no_finish_is_said() -> None:
    hot = Powder("HOT", "Hot", (10, 0, 0), 85, cure=(400, 60), stock_kg=9)
    declared = Declared(sets=(NOTHING,))
    found, said = with_defaults(declared, Practice(stock={"HOT": hot}), frozenset())
    assert found.sets[0].finish is None
    assert [english(one) for one in said] == [v for k, v in SAID.items() if k != "finish"]


@pytest.mark.parametrize(
    ("sets", "where", "ways"),
    [
        ((wheels(),), None, tuple(Bringing)),
        ((wheels(),), Whereabouts.BARE, (Bringing.BARE,)),
        ((wheels(),), Whereabouts.OFF, (Bringing.BARE, Bringing.COMPLETE)),
        ((wheels(), part(PartKind.CALIPER)), None, (Bringing.BARE, Bringing.COMPLETE)),
        ((part(PartKind.CALIPER),), None, (Bringing.BARE,)),
        ((part(PartKind.PLATE),), None, (Bringing.BARE,)),
    ],
)
def test_only_ways_that_make_sense_are_offered(sets, where, ways) -> None:
    declared = Declared(sets=sets, whereabouts=where)
    assert sensible(declared) == ways
    assert usual_way(declared) is (Bringing.COMPLETE if Bringing.COMPLETE in ways else ways[0])


def test_bare_wheels_and_plates_carry_nothing() -> None:
    assert usually_fitted(PartKind.WHEEL, None) == WHEEL
    assert usually_fitted(PartKind.WHEEL, Whereabouts.BARE) == ()
    assert usually_fitted(PartKind.CALIPER, Whereabouts.BARE) == (Item.SEALS,)
    assert usually_fitted(PartKind.PLATE, None) == ()
    found, _ = filled(replace(NOTHING, kind=PartKind.PLATE))
    assert found.sets[0].layers == (Layer.LIQUID_PAINT,)


def test_what_is_open_has_a_usual_and_a_longest_case() -> None:
    known = wheels(layers=(Layer.POWDER,))
    assert cases_of(Declared(sets=(known,)), PRACTICE) is None
    unseen = replace(known, layers=(Layer.UNKNOWN,), build=None)
    cases = cases_of(Declared(sets=(known, unseen)), PRACTICE)
    assert cases is not None
    assert cases.slow.value == "chrome"
    assert cases.usual.sets == (known, replace(unseen, layers=(Layer.FACTORY_PAINT,)))
    assert cases.longest == longest_of(Declared(sets=(known, unseen)))
    both = replace(unseen, rim=None, tyre=None)
    several = cases_of(Declared(sets=(both,)), PRACTICE)
    assert several is not None
    assert several.slow.value == "several"
