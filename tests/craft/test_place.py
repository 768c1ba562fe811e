"""The rules of a place are shown, and block until the shop has recorded its decision."""

import pytest

from portal.craft.answers import About, CautionKind
from portal.craft.facts import facts_of
from portal.craft.finishes import coat_plan
from portal.craft.parts import Damage, Item, PartKind, Powder, System, WheelBuild
from portal.craft.place import place_cautions, places, places_of, rules, rules_for
from portal.craft.registration import Country, Permission
from tests.craft.shelf import SHELF, finish, part, wheels
from tests.readers import english


def cautions(part_set, country="DE", decision="", stock=SHELF, registered=None, abroad=""):
    plan = coat_plan(part_set, stock) if part_set.finish else None
    where = places_of(registered, country, decision, abroad)
    return place_cautions(facts_of(part_set), plan, where, part_set)


def keys(found, kind=None):
    return {c.key for c in found if kind is None or c.kind is kind}


@pytest.mark.parametrize("country", ["DE", "GB", "US"])
def test_every_rule_has_a_source_and_a_date(country):
    assert country in places()
    for rule in rules(country):
        assert rule.source
        assert rule.date
        assert english(rule.says).endswith(".")


def test_a_place_without_known_rules_has_none_and_is_no_error():
    assert rules("ZZ") == ()
    assert rules("de") == rules("DE")


# ministry guideline, Verkehrsblatt 1/2023: at most 100 °C, named areas, cracks and depth
def test_the_hundred_degree_rule_asks_for_the_shops_decision_before_it_books():
    found = cautions(wheels())
    assert keys(found, CautionKind.PLACE) == {
        "place_undecided",
        "place_heat",
        "place_areas",
    }
    assert "We can't take this booking yet. A rule in this" in english(found[0].says)
    assert any("100 °C" in english(c.says) for c in found)


def test_the_rule_holds_before_a_finish_is_chosen():
    assert "place_heat" in keys(cautions(wheels(finish=None)), CautionKind.PLACE)


def test_a_coat_cured_below_a_hundred_degrees_is_not_held_against_the_rule():
    cool = {"COOL": Powder("COOL", "Cool", (10, 0, 0), 85, cure=(95, 40))}
    one = wheels(finish=finish(System.SINGLE, "COOL"))
    assert "place_heat" not in keys(cautions(one, stock=cool))


def test_with_a_decision_the_rule_is_still_shown_and_the_customer_confirms_it():
    found = cautions(wheels(), decision=" Only with the maker's permission in writing. ")
    assert not keys(found, CautionKind.PLACE)
    heat = next(c for c in found if c.key == "place_heat")
    assert heat.kind is CautionKind.CONFIRM
    assert "Only with the maker's permission in writing." in english(heat.instead)


def test_a_decision_of_blanks_is_no_decision():
    assert keys(cautions(wheels(), decision="   "), CautionKind.PLACE)


def test_steel_wheels_and_other_parts_are_outside_the_guideline():
    assert not cautions(wheels(build=WheelBuild.STEEL))
    assert not cautions(part(PartKind.RAILING, finish=None))


def test_turning_a_face_bright_needs_a_decision_too():
    one = wheels(finish=finish(System.MACHINED_CLEAR, "BLACK"))
    assert "place_machining" in keys(cautions(one), CautionKind.PLACE)


def test_kerb_marks_are_measured_against_the_published_depth():
    found = cautions(wheels(damage=(Damage.KERB_RASH,)))
    (depth,) = (c for c in found if c.key == "place_depth")
    assert depth.kind is CautionKind.INSPECT
    assert "1 mm deep" in english(depth.says)
    assert "50 mm" in english(depth.says)


def test_places_differ():
    assert keys(cautions(wheels(), "GB")) == {"place_interfaces"}
    us = rules_for(facts_of(wheels(fitted=(Item.SENSOR,))), None, "US")
    assert {rule.key for rule in us} == {"sensor"}
    assert not any(rule.needs_decision for rule in (*rules("GB"), *rules("US")))


# exceptions where the maker of the vehicle or wheel allows them: kfz-innung-mittelbaden.de
def test_the_maker_s_permission_is_looked_at_first_and_lifts_the_rule():
    allowed = wheels(permission=Permission.YES, permission_paper="K 17")
    found = cautions(allowed)
    assert not keys(found, CautionKind.PLACE)
    assert keys(found, CautionKind.INSPECT) == {"place_permission"}
    assert {"place_heat", "place_areas"} <= keys(found, CautionKind.TELL)
    (seen,) = (c for c in found if c.key == "place_permission")
    assert "Without it we can't start" in english(seen.says)


@pytest.mark.parametrize("told", [None, Permission.NO, Permission.UNKNOWN])
def test_without_the_permission_the_rule_stands_as_the_shop_has_decided(told):
    one = wheels(permission=told)
    assert "place_undecided" in keys(cautions(one), CautionKind.PLACE)
    assert "place_heat" in keys(cautions(one, decision="At your risk."), CautionKind.CONFIRM)
    assert not keys(cautions(one)) & {"place_permission"}


def test_a_permission_that_nobody_asks_for_is_not_spoken_of():
    assert keys(cautions(wheels(permission=Permission.YES), "GB")) == {"place_interfaces"}


def test_the_rules_follow_the_vehicle_to_works_in_another_country():
    found = cautions(wheels(), "GB", registered=Country.DE)
    assert {"place_heat", "place_undecided"} <= keys(found, CautionKind.PLACE)
    assert "place_interfaces" in keys(found)  # and ours still count
    told = next(c for c in found if c.key == "place_registered")
    assert english(told.says).startswith("Registered in: Germany.")


def test_a_decision_for_our_country_is_none_for_another():
    ours = cautions(wheels(), "GB", decision="Yes.", registered=Country.DE)
    assert keys(ours, CautionKind.PLACE)
    theirs = cautions(wheels(), "GB", registered=Country.DE, abroad="Only with a paper.")
    heat = next(c for c in theirs if c.key == "place_heat")
    assert heat.kind is CautionKind.CONFIRM
    assert "Only with a paper." in english(heat.instead)


def test_a_vehicle_registered_where_the_works_are_is_told_nothing_more():
    assert cautions(wheels(), "DE", registered=Country.DE) == cautions(wheels(), "DE")


@pytest.mark.parametrize("country", [Country.AT, Country.CH, Country.FR, Country.OTHER])
def test_of_a_country_without_a_known_rule_it_is_said_that_there_may_be_one(country):
    abroad = cautions(wheels(), "GB", registered=country)
    (none,) = (c for c in abroad if c.key.startswith("place_none_known"))
    assert none.kind is CautionKind.CONFIRM
    assert english(none.says).startswith(f"{country.title}: we know of no rule")
    assert "That does not mean that there is none." in english(none.says)
    here = cautions(wheels(), str(country.value))
    assert keys(here) == {f"place_none_known_{country.value}"}
    assert here[0].kind is CautionKind.TELL
    assert cautions(part(PartKind.RAILING, finish=None), "GB", registered=country) == ()


def test_works_in_a_country_that_nobody_can_name_still_say_it():
    (none,) = cautions(wheels(), "IT")
    assert "in this country" in english(none.says)


@pytest.mark.parametrize(
    ("registered", "says"),
    [
        (None, "A rule in this country is against this work"),
        (Country.AT, "A rule of the country where the vehicle is registered, or of ours"),
    ],
)
def test_what_waits_for_a_decision_says_whose_rule_it_is_and_what_to_do(registered, says):
    found = cautions(wheels(build=WheelBuild.CAST), registered=registered)
    one = next(c for c in found if c.key == "place_undecided")
    assert says in english(one.says)
    assert english(one.instead).startswith("If the maker of the wheel allows it in writing")
    assert one.about is About.PLACE
