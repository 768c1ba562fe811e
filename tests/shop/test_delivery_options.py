"""The ways of bringing the parts, side by side."""

from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

from portal.craft.bringing import OwnCosts
from portal.craft.declared import read_declared
from portal.craft.parts import Bringing, Declared, Item, Remover
from portal.shop.assessment.assess import assess
from portal.shop.assessment.defaults import sensible
from portal.shop.assessment.delivery_options import Way, brought, ways
from portal.shop.shop import Shop, read_shop
from tests.readers import english

SEED = Path(__file__).resolve().parents[2] / "demo_seed"
ON = date(2026, 6, 1)
WHEELS = {
    "kind": "wheel",
    "count": 4,
    "rim": "8J x 18 H2 ET35",
    "build": "cast",
    "layers": ["powder"],
    "fitted": ["tyre", "weights", "valve", "centre_cap"],
}


@cache
def shop() -> Shop:
    return read_shop(*((SEED / name).read_text("utf-8") for name in ("shop.toml", "powders.csv")))


def compared(order: Declared) -> dict[Bringing, Way]:
    return {way.bringing: way for way in ways(order, shop(), ON)}


def order(**more) -> Declared:
    return read_declared({"sets": [WHEELS | more]})


def test_wheels_can_come_bare_complete_or_on_the_car() -> None:
    assert sensible(order()) == tuple(Bringing)


def test_other_parts_only_come_bare() -> None:
    calipers = read_declared({"sets": [{"kind": "caliper", "count": 2}]})
    assert sensible(calipers) == (Bringing.BARE,)
    (way,) = compared(calipers).values()
    assert (way.trips, way.own.minor) == (2, 0)
    assert way.errands


def test_without_a_set_there_is_nothing_to_compare() -> None:
    assert ways(Declared(), shop(), ON) == ()


def test_bare_rims_cost_less_here_and_more_elsewhere() -> None:
    found = compared(order())
    bare, complete = found[Bringing.BARE], found[Bringing.COMPLETE]
    assert bare.price < complete.price
    assert bare.tyres_own.minor == 4 * 1800
    assert complete.tyres_own.minor == 0
    assert (bare.trips, complete.trips) == (4, 2)
    assert bare.days_without > complete.days_without


def test_the_whole_car_costs_taking_the_wheels_off_on_top() -> None:
    found = compared(order())
    extra = found[Bringing.WHOLE_CAR].price - found[Bringing.COMPLETE].price
    # 4 × 6.00 for the wheels, 4 × 1.00 for the caps that the customer needn't take out
    assert extra.minor == 2800


def test_each_way_adds_up() -> None:
    for way in compared(order()).values():
        assert way.own == way.tyres_own + way.trips_own + way.days_own
        assert way.together == way.price + way.own
        assert way.price == assess(brought(order(), way.bringing), shop(), ON).quote.total


def test_the_customers_own_figures_count_before_the_customary_ones() -> None:
    mine = replace(order(), own_costs=OwnCosts(tyre_off_on_each=1000, trip=0, day_without_car=0))
    bare = compared(mine)[Bringing.BARE]
    assert bare.own.minor == 4 * 1000
    assert compared(order())[Bringing.BARE].trips_own.minor == 4 * 900


def test_rims_that_are_already_bare_need_no_tyre_shop() -> None:
    bare = compared(order(fitted=["centre_cap"]))[Bringing.BARE]
    assert bare.trips == 2
    assert bare.tyres_own.minor == 0
    assert not [x for x in bare.errands if "tyre shop" in english(x)]


def test_until_told_wheels_are_taken_to_be_as_they_come_off_a_car() -> None:
    bare = compared(order(fitted=[]))[Bringing.BARE]
    assert Item.TYRE in [one.item for one in bare.per_item]
    assert bare.tyres_own.minor == 4 * 1800
    told = compared(replace(order(fitted=[]), bringing=Bringing.BARE))[Bringing.BARE]
    assert told.per_item == ()
    assert told.tyres_own.minor == 0


def test_an_outside_strip_is_counted_in_the_days() -> None:
    here = compared(order(layers=["bare"]))[Bringing.COMPLETE]
    away = compared(order(layers=["factory_paint"]))[Bringing.COMPLETE]
    assert away.days_without > here.days_without


def test_who_takes_off_what_is_kept_for_the_way_that_was_chosen_alone() -> None:
    mine = replace(order(removers={"tyre": "you"}), bringing=Bringing.COMPLETE)
    found = compared(mine)

    def tyre(way: Way) -> Remover:
        return next(one.remover for one in way.per_item if one.item is Item.TYRE)

    assert tyre(found[Bringing.COMPLETE]) is Remover.YOU
    assert found[Bringing.COMPLETE].trips == 4
    assert tyre(found[Bringing.WHOLE_CAR]) is Remover.US


def test_a_car_is_never_asked_to_come_on_wheels_without_tyres() -> None:
    mine = replace(order(removers={"tyre": "you"}), bringing=Bringing.WHOLE_CAR)
    assert compared(mine)[Bringing.WHOLE_CAR].tyres_own.minor == 0


def test_each_item_says_what_it_costs_if_we_do_it() -> None:
    complete = compared(order())[Bringing.COMPLETE]
    costs = {one.item: one.ours.minor for one in complete.per_item}
    assert costs[Item.TYRE] == 4 * (600 + 900)
    # what the customer does instead is exactly what the price falls by
    mine = replace(order(removers={"tyre": "you"}), bringing=Bringing.COMPLETE)
    fallen = complete.price - compared(mine)[Bringing.COMPLETE].price
    assert fallen.minor == costs[Item.TYRE]
