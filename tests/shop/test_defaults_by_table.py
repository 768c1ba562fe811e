"""What is assumed of an order until it is told, written out for every kind and place."""

from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from portal.craft.appraise import Practice
from portal.craft.bringing import OwnCosts, Whereabouts
from portal.craft.declared import read_declared
from portal.craft.parts import (
    BareZone,
    Bringing,
    Declared,
    FinishChoice,
    Gloss,
    Item,
    Layer,
    Metal,
    PartKind,
    PartSet,
    Remover,
    System,
    WheelBuild,
)
from portal.shop.assessment.defaults import (
    sensible,
    usual_finish,
    usual_layers,
    usual_way,
    usually_fitted,
    with_defaults,
)
from portal.shop.assessment.delivery_options import USUALLY_FITTED, Way, brought, ways
from portal.shop.shop import Shop, read_shop
from tests.craft.shelf import SHELF, wheels
from tests.readers import english

BARE, COMPLETE, WHOLE_CAR = Bringing
ON_CAR, OFF, BARE_ALREADY = Whereabouts
PRACTICE = Practice(stock=SHELF, heat_limit_min_at_200=45)
TUBE = PartSet("B", PartKind.TUBE, 2, metal=Metal.STEEL)
CALIPER = PartSet("C", PartKind.CALIPER, 2)
EVERYTHING = (Item.TYRE, Item.WEIGHTS, Item.VALVE, Item.SENSOR, Item.CENTRE_CAP)


@pytest.mark.parametrize(
    ("kinds", "where", "offered", "usual"),
    [
        ("W", None, (BARE, COMPLETE, WHOLE_CAR), COMPLETE),
        ("W", ON_CAR, (BARE, COMPLETE, WHOLE_CAR), COMPLETE),
        ("W", OFF, (BARE, COMPLETE), COMPLETE),
        ("W", BARE_ALREADY, (BARE,), BARE),
        ("WC", ON_CAR, (BARE, COMPLETE), COMPLETE),
        ("WT", ON_CAR, (BARE, COMPLETE, WHOLE_CAR), COMPLETE),
        ("C", ON_CAR, (BARE,), BARE),
        ("T", None, (BARE,), BARE),
    ],
)
def test_which_ways_make_sense(kinds: str, where, offered, usual: Bringing) -> None:
    sets = {"W": wheels(), "C": CALIPER, "T": TUBE}
    order = Declared(sets=tuple(sets[kind] for kind in kinds), whereabouts=where)
    assert (sensible(order), usual_way(order)) == (offered, usual)


def test_what_parts_usually_carry_and_are_coated_with() -> None:
    for kind in PartKind:
        carried = {PartKind.WHEEL: EVERYTHING, PartKind.CALIPER: (Item.SEALS,)}.get(kind, ())
        for where in (None, ON_CAR, OFF):
            assert usually_fitted(kind, where) == carried
        bare = () if kind is PartKind.WHEEL else carried
        assert usually_fitted(kind, BARE_ALREADY) == bare
        layer = Layer.FACTORY_PAINT if kind is PartKind.WHEEL else Layer.LIQUID_PAINT
        assert usual_layers(kind) == (layer,)


def filled(*sets: PartSet, fitted: frozenset[str] = frozenset(), **more):
    order, said = with_defaults(Declared(sets=sets, **more), PRACTICE, fitted)
    return order, [english(one) for one in said]


def test_nothing_that_was_told_is_replaced() -> None:
    one = wheels(layers=(Layer.CHROME,), fitted=(Item.VALVE,), removers={Item.VALVE: Remover.YOU})
    order, said = filled(one, fitted=frozenset({"A"}), bringing=BARE)
    assert (order.sets, order.bringing, said) == ((one,), BARE, [])


def test_what_was_not_told_is_filled_and_said() -> None:
    one = wheels(layers=(), fitted=(), finish=None, removers={Item.TYRE: Remover.YOU})
    order, said = filled(one, whereabouts=OFF)
    assert order.bringing is COMPLETE
    assert order.sets == (
        replace(
            one,
            layers=(Layer.FACTORY_PAINT,),
            fitted=EVERYTHING,
            removers={},
            finish=usual_finish(one, PRACTICE),
        ),
    )
    assert said == [
        "delivery: “Wheels with tyres”",
        "the usual old finish",
        "the usual parts fitted",
        "one plain colour",
    ]


def test_a_finish_that_was_begun_is_ended_plainly() -> None:
    begun = FinishChoice(System.SINGLE, "", Gloss.SATIN)
    order, said = filled(wheels(finish=begun), fitted=frozenset({"A"}), bringing=BARE)
    assert order.sets[0].finish == replace(begun, colour="BLACK-S")
    assert said == ["a plain colour"]
    # what nothing on the list can be baked on gets no finish, and nothing is said of it
    hopeless = wheels(build=WheelBuild.MAGNESIUM, finish=None)
    order, said = filled(hopeless, fitted=frozenset({"A"}), bringing=BARE)
    assert (order.sets[0].finish, said) == (None, [])


def test_the_usual_finish_keeps_what_was_begun() -> None:
    def usual(**begun) -> FinishChoice | None:
        return usual_finish(wheels(finish=None), PRACTICE, FinishChoice(**begun))

    assert usual_finish(wheels(finish=None), PRACTICE) == FinishChoice(
        System.SINGLE, "BLACK", Gloss.GLOSS
    )
    assert usual(system=System.BASE_CLEAR, gloss=Gloss.SATIN) == FinishChoice(
        System.BASE_CLEAR, "BLACK", Gloss.SATIN
    )
    # no clear coat is so matt: another gloss of the same system
    assert usual(system=System.BASE_CLEAR, gloss=Gloss.MATT) == FinishChoice(
        System.BASE_CLEAR, "BLACK", Gloss.GLOSS
    )
    machined = usual(system=System.MACHINED_CLEAR, bare=(BareZone.HUB_BORE,))
    assert machined is not None
    assert machined.bare == (BareZone.HUB_BORE,)
    only = {code: SHELF[code] for code in ("RED", "PEWTER")}
    found = usual_finish(wheels(finish=None), replace(PRACTICE, stock=only))
    assert found is not None
    assert found.colour == "RED"  # the glossy one; the other is satin
    bought = {"RED": SHELF["RED"], "A": replace(SHELF["PEWTER"], code="A", gloss_gu=85)}
    found = usual_finish(wheels(finish=None), replace(PRACTICE, stock=bought))
    assert found is not None
    assert found.colour == "A"  # in stock before plain


# -- ways side by side ------------------------------------------------------------------------

SEED = Path(__file__).resolve().parents[2] / "demo_seed"
ON = date(2026, 6, 1)
SET = {
    "kind": "wheel",
    "count": 4,
    "rim": "8J x 18 H2 ET35",
    "build": "cast",
    "layers": ["powder"],
    "fitted": ["tyre", "weights", "valve", "centre_cap"],
}

HERE = SET | {"layers": ["bare"]}  # nothing to be stripped outside


@cache
def shop() -> Shop:
    return read_shop(*((SEED / name).read_text("utf-8") for name in ("shop.toml", "powders.csv")))


def compared(order: Declared) -> dict[Bringing, Way]:
    return {way.bringing: way for way in ways(order, shop(), ON)}


def order(*sets: dict, **more) -> Declared:
    return replace(read_declared({"sets": list(sets or (SET,))}), **more)


def test_the_days_without_a_car_are_counted_where_one_stands() -> None:
    usual = shop().tariff.customary
    found = compared(order(HERE))
    assert found[COMPLETE].days_without == usual.days
    assert found[BARE].days_without == usual.days + usual.days_for_tyres
    assert found[COMPLETE].days_own.minor == usual.days * usual.day_without_car
    assert {way.days_without for way in compared(order(HERE, whereabouts=OFF)).values()} == {0}
    (caliper,) = compared(order({"kind": "caliper", "count": 2})).values()
    assert (caliper.days_without > 0, caliper.undrivable) == (True, True)
    (tube,) = compared(order({"kind": "tube", "count": 2, "metal": "steel"})).values()
    assert (tube.days_without, tube.undrivable) == (0, False)
    assert not found[COMPLETE].undrivable


@pytest.mark.parametrize(
    ("mine", "own"),
    [
        (OwnCosts(tyre_off_on_each=0), (0, None, None)),
        (OwnCosts(trip=0), (None, 0, None)),
        (OwnCosts(day_without_car=0), (None, None, 0)),
        (OwnCosts(tyre_off_on_each=7, trip=5, day_without_car=3), (7, 5, 3)),
    ],
)
def test_each_figure_of_the_customer_counts_for_itself(mine: OwnCosts, own) -> None:
    usual = shop().tariff.customary
    bare = compared(order(own_costs=mine))[BARE]
    tyre, trip, day = (
        told if told is not None else known
        for told, known in zip(
            own, (usual.tyre_off_on_each, usual.trip, usual.day_without_car), strict=True
        )
    )
    assert (bare.tyres, bare.trips) == (4, 4)
    assert bare.tyres_own.minor == 4 * tyre
    assert bare.trips_own.minor == 4 * trip
    assert bare.days_own.minor == bare.days_without * day
    assert bare.own.minor == 4 * tyre + 4 * trip + bare.days_without * day


def test_who_removes_what_is_kept_for_the_chosen_way() -> None:
    mine = order(SET | {"removers": {"tyre": "you"}}, bringing=COMPLETE)
    assert brought(mine, COMPLETE).sets == mine.sets
    assert brought(mine, BARE).sets[0].removers == {}
    assert brought(mine, BARE).bringing is BARE
    untold = order(SET | {"fitted": []}, {"kind": "caliper", "count": 2})
    assert [one.fitted for one in brought(untold, BARE).sets] == [USUALLY_FITTED, ()]
    assert brought(replace(untold, whereabouts=BARE_ALREADY), BARE).sets[0].fitted == ()
    told = replace(untold, bringing=BARE)
    assert brought(told, COMPLETE).sets[0].fitted == ()


def test_each_item_has_its_set_its_hands_and_its_price() -> None:
    items = {one.item: one for one in compared(order())[COMPLETE].per_item}
    assert set(items) == {Item.TYRE, Item.WEIGHTS, Item.VALVE, Item.CENTRE_CAP}
    assert {one.set_key for one in items.values()} == {"A"}
    assert items[Item.TYRE].remover is Remover.US
    assert Remover.YOU in items[Item.TYRE].who_may
    removal = shop().tariff.removal
    valve = items[Item.VALVE]
    assert valve.ours.minor == 4 * (
        removal.off[Item.VALVE]
        + removal.refit[Item.VALVE]
        + sum(price for part, price in removal.new_parts.items() if part.value == "valve")
    )
