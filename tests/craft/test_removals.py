"""What comes off: every item, on every kind of part, in every way of bringing them."""

import tomllib
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.answers import COMMON_PRACTICE, NewPart
from portal.craft.parts import Bringing, Item, Layer, Metal, PartKind, Remover, WheelBuild
from portal.craft.removals import items_for, removals
from tests.craft.shelf import part, wheels
from tests.readers import english

WAYS = (None, *Bringing)
DATA = Path(__file__).resolve().parents[2] / "portal" / "craft" / "data"
ROWS = tomllib.loads((DATA / "removals.toml").read_text("utf-8"))["item"]


def of(item, part_set=None, bringing=Bringing.COMPLETE):
    found = removals(part_set or wheels(fitted=tuple(Item)), bringing)
    return next(one for one in found if one.item is item)


@pytest.mark.parametrize("item", Item)
def test_every_item_has_a_reason_a_tool_a_step_and_an_end_on_every_part(item):
    for kind, way in product(PartKind, WAYS):
        (one,) = removals(part(kind, fitted=(item,)), way)
        assert one.must, (kind, way)
        assert one.why, (kind, way)
        assert one.who_may, (kind, way)
        for text in (*one.why, one.step, one.happens, *filter(None, (one.home, one.before))):
            assert english(text).endswith("."), (kind, way)
            assert "{" not in english(text), (kind, way)
        assert len(english(one.tool)) > 10, (kind, way)


@given(st.sets(st.sampled_from(Item)), st.sampled_from(WAYS))
def test_the_order_of_work_counts_from_one_whatever_is_fitted(items, way):
    found = removals(wheels(fitted=tuple(items)), way)
    assert {one.item for one in found} == items
    assert [one.order for one in found] == list(range(1, len(items) + 1))


def test_air_then_weights_then_tyre_then_sensor_then_valve_then_cap():
    fitted = (Item.CENTRE_CAP, Item.VALVE, Item.SENSOR, Item.TYRE, Item.WEIGHTS)
    found = removals(wheels(fitted=fitted), Bringing.COMPLETE)
    assert [one.item for one in found] == list(reversed(fitted))
    assert "let all the air out" in english(found[0].before)
    assert all(one.before is None for one in found[1:])


def test_without_a_tyre_nobody_is_told_to_let_air_out():
    assert removals(wheels(fitted=(Item.VALVE,)), None)[0].before is None


# makers' service manuals: a sensor goes into alert above 110 °C because it may shut down; the
# coolest published cure of any powder is 121 °C (low-bake, an oven maker's guide)
def test_a_sensor_may_never_stay_because_every_cure_is_hotter_than_it_bears():
    sensor = of(Item.SENSOR)
    assert sensor.must
    assert Remover.STAYS not in sensor.who_may
    assert "110 °C" in english(sensor.why[0])
    assert "A tyre-pressure sensor shuts down above about" in english(sensor.why[0])


# the same manuals: seal, washer, nut, core and cap are renewed whenever the tyre comes off
def test_a_sensor_gets_new_sealing_parts_and_a_rubber_valve_is_never_used_twice():
    assert of(Item.SENSOR).new_parts == (NewPart.SENSOR_SEAL,)
    plain = wheels(fitted=(Item.TYRE, Item.WEIGHTS, Item.VALVE))
    assert of(Item.VALVE, plain).new_parts == (NewPart.VALVE,)


@given(st.sets(st.sampled_from(Item)))
def test_no_new_part_is_bought_twice_for_one_wheel(items):
    bought = [new for one in removals(wheels(fitted=tuple(items)), None) for new in one.new_parts]
    assert len(bought) == len(set(bought))


def test_who_forgot_to_mention_weights_and_valve_still_needs_new_ones():
    assert of(Item.TYRE, wheels(fitted=(Item.TYRE,))).new_parts == (
        NewPart.WEIGHTS,
        NewPart.VALVE,
    )


def test_pressing_a_tyre_off_at_home_is_discouraged_with_the_reason():
    tyre = of(Item.TYRE)
    assert "at home" in english(tyre.home)
    assert "burst" in english(tyre.home)
    assert "tyre shop" in english(tyre.step)


@pytest.mark.parametrize(
    ("item", "tool"),
    [
        (Item.TYRE, "bead breaker"),
        (Item.WEIGHTS, "Plastic scraper for stick-on weights;"),
        (Item.VALVE, "Valve-core tool"),
        (Item.CENTRE_CAP, "trim tool"),
        (Item.BEARINGS, "Bearing puller or press, with the right ring to"),
    ],
)
def test_tools_are_called_what_a_shop_calls_them(item, tool):
    assert tool in english(of(item).tool)


def test_a_valve_core_is_explained_where_it_is_named():
    for item in (Item.TYRE, Item.VALVE):
        whole = removals(wheels(fitted=(item,)), None)[0]
        words = " ".join(map(english, filter(None, (whole.before, whole.tool, whole.step))))
        assert "small spring pin" in words


def test_who_brings_bare_parts_takes_off_what_who_brings_the_car_leaves_to_us():
    def usual(way):
        whole = wheels(fitted=items_for(PartKind.WHEEL))
        return {one.item: one.who_may[0] for one in removals(whole, way)}

    assert set(usual(Bringing.BARE).values()) == {Remover.YOU}
    assert usual(Bringing.COMPLETE)[Item.TYRE] is Remover.US
    assert usual(Bringing.COMPLETE)[Item.CENTRE_CAP] is Remover.YOU
    assert usual(Bringing.WHOLE_CAR)[Item.CENTRE_CAP] is Remover.US


def test_brake_hydraulics_and_bearings_are_never_ours():
    for item, way in product((Item.SEALS, Item.BEARINGS), WAYS):
        assert of(item, part(PartKind.CALIPER, fitted=(item,)), way).who_may == (Remover.YOU,)


def test_the_stripping_bath_is_a_reason_only_where_the_parts_go_through_one():
    def baths(part_set):
        return [text for text in of(Item.TYRE, part_set).why if "bath" in english(text)]

    fitted = (Item.TYRE,)
    assert baths(wheels(fitted=fitted, layers=(Layer.POWDER,)))
    assert not baths(wheels(fitted=fitted, layers=(Layer.POWDER,), build=WheelBuild.STEEL))


def test_a_part_that_is_not_blasted_here_names_no_blasting():
    carbon = part(PartKind.BOX, metal=Metal.CARBON, fitted=(Item.BADGES,))
    assert not any("blast" in english(text).lower() for text in of(Item.BADGES, carbon).why)


@pytest.mark.parametrize("kind", PartKind)
def test_what_can_be_fitted_is_known_for_every_kind(kind):
    assert items_for(kind)
    assert (Item.TYRE in items_for(kind)) is (kind is PartKind.WHEEL)


def test_the_seals_of_a_fork_are_no_work_for_a_brake_workshop():
    caliper, fork = (
        of(Item.SEALS, part(kind, fitted=(Item.SEALS,)))
        for kind in (PartKind.CALIPER, PartKind.FRAME)
    )
    told = {
        one: " ".join(map(english, (*one.why, one.tool, one.step, one.happens, one.home)))
        for one in (caliper, fork)
    }
    assert "caliper" in told[caliper]
    assert "fork" in told[fork]
    for word in ("caliper", "brake", "bleed", "piston"):
        assert word not in told[fork].casefold()
    assert caliper.new_parts == fork.new_parts == (NewPart.SEAL_KIT,)


def test_a_centring_ring_comes_off_by_hand_and_goes_back():
    ring = of(Item.SPIGOT_RINGS, wheels(fitted=(Item.SPIGOT_RINGS,)))
    assert set(ring.who_may) == {Remover.YOU, Remover.US}
    assert ring.back
    assert "bag them" in english(ring.happens)
    assert "crooked" in english(ring.why[0])


def test_each_item_names_its_source_or_common_practice():
    for item, kind in product(Item, PartKind):
        (one,) = removals(part(kind, fitted=(item,)), None)
        own = [row for row in ROWS if row["item"] == item and kind in row.get("kind", ())]
        (row,) = own or [row for row in ROWS if row["item"] == item and "kind" not in row]
        assert english(one.source) == row.get("source", english(COMMON_PRACTICE)), (item, kind)
