"""The guide after pickup."""

import re
from itertools import chain, combinations

import pytest

from portal.craft.care import care_steps
from portal.craft.parts import Closed, Declared, Item, PartKind, Remover, Usage
from portal.craft.refit import guide, guide_for
from tests.craft.shelf import part, wheels
from tests.readers import english

KINDS = [part(kind) for kind in PartKind if kind is not PartKind.WHEEL]
EVERYTHING = guide(
    [wheels(), wheels(removers={Item.TYRE: Remover.YOU}), wheels(fitted=()), *KINDS], Item
)


def keys(steps):
    return [step.key for step in steps]


def test_a_mixed_order_gets_the_steps_of_each_kind_once():
    both = keys(guide([wheels(), part(PartKind.CALIPER), wheels()], [Item.SEALS]))
    assert "torque" in both
    assert "brakes" in both
    assert len(both) == len(set(both))


def test_every_step_is_a_whole_sentence_with_a_source():
    for step in EVERYTHING:
        assert english(step.says).endswith(".")
        assert "{" not in english(step.says)
        assert step.title
        assert step.source


# nut torques differ from part to part (4, 7 and 12 N·m are all published for sensors alone)
def test_no_torque_figure_is_ever_printed():
    for step in EVERYTHING:
        assert not re.search(r"\d\s*(N·?m|Nm|lb|ft|kg)", english(step.says))
    torque = next(step for step in EVERYTHING if step.key == "torque")
    assert "vehicle handbook" in english(torque.says)
    assert "then the one opposite" in english(torque.says)


# published distances: 25 miles to 200 km; not slackened first (Society of Operations Engineers)
def test_nuts_are_checked_again_without_slackening_and_the_handbook_wins():
    again = next(step for step in EVERYTHING if step.key == "recheck")
    for words in (
        "after 50 km",
        "by 160 km",
        "Check every nut or bolt with a torque wrench",
        "Don't loosen them first",
        "follow the handbook",
    ):
        assert words in english(again.says)


def test_mating_faces_are_looked_at_before_anything_is_fitted():
    assert keys(guide([wheels()], []))[0] == "look"


BARE = wheels(fitted=())
OURS = wheels(removers={Item.TYRE: Remover.US})
THEIRS = wheels(removers={Item.TYRE: Remover.YOU})


def test_bare_wheels_still_need_tyres_valves_and_balance_but_no_sensor_is_assumed():
    found = keys(guide([BARE], []))
    assert {"tyre", "valve", "balance", "sensor_maybe"} <= set(found)
    assert not {"sensor", "relearn", "small_parts", "tyres_back"} & set(found)
    assert {"mount", "torque", "recheck", "watch", "care"} <= set(found)


def test_who_took_the_tyres_off_puts_them_on_again():
    ours = keys(guide([OURS], OURS.fitted))
    assert "tyres_back" in ours
    assert not {"tyre", "valve", "balance", "sensor"} & set(ours)
    theirs = keys(guide([THEIRS], THEIRS.fitted))
    assert "tyres_back" not in theirs
    assert {"tyre", "valve", "balance", "sensor"} <= set(theirs)
    for found in (ours, theirs):
        assert {"relearn", "torque", "recheck"} <= set(found)


@pytest.mark.parametrize(
    ("item", "step"),
    [
        (Item.SENSOR, "sensor"),
        (Item.SENSOR, "relearn"),
        (Item.CENTRE_CAP, "small_parts"),
        (Item.SPACERS, "spacers"),
        (Item.SPIGOT_RINGS, "spigot_rings"),
        (Item.BEARINGS, "bearings"),
    ],
)
def test_what_was_taken_off_brings_its_own_step(item, step):
    assert step in keys(guide([THEIRS], [item]))
    assert step not in keys(guide([THEIRS], []))


def test_calipers_go_to_a_brake_workshop_and_get_no_wheel_steps():
    found = guide([part(PartKind.CALIPER)], [Item.SEALS])
    assert keys(found) == ["brakes", "care"]
    assert found[0].caution


# steps for what nobody knows to have been fitted
UNLESS = {"sensor_maybe", "centring"}


def test_every_combination_of_things_taken_off_gives_a_guide_in_a_fixed_order():
    order = keys(EVERYTHING)
    for items in chain.from_iterable(combinations(Item, n) for n in range(4)):
        found = [key for key in keys(guide([wheels()], items)) if key not in UNLESS]
        assert found == sorted(found, key=order.index)
        assert found[-1] == "care"


def test_how_a_wheel_centres_is_told_with_its_ring_or_in_case_there_was_one():
    ringed, bare = keys(guide([THEIRS], [Item.SPIGOT_RINGS])), keys(guide([THEIRS], []))
    assert "spigot_rings" in ringed
    assert "centring" not in ringed
    assert "centring" in bare
    assert bare.index("centring") < bare.index("mount")


def test_a_spring_is_fitted_by_a_workshop_with_a_compressor():
    spring = part(PartKind.OTHER, closed=(Closed.SPRING,))
    (step,) = (one for one in guide([spring], []) if one.key == "springs")
    assert step.caution
    assert "spring compressor" in english(step.says)
    assert "springs" not in keys(guide([part(PartKind.OTHER)], []))


def test_washing_comes_with_what_never_to_do_and_each_use_has_a_step_of_its_own():
    (washing,) = care_steps(None)
    assert "acid" in english(washing.says)
    for usage in Usage:
        first, own = care_steps(usage)
        assert first == washing
        assert english(own.says)


def test_what_is_fitted_was_taken_off_by_us_unless_it_says_otherwise():
    one = wheels(fitted=(Item.TYRE, Item.VALVE))
    bare, whole = keys(guide([one], [])), keys(guide([one], one.fitted))
    assert bare != whole
    assert keys(guide_for(Declared(sets=(one,)))) == whole
    for who, steps in ((Remover.US, whole), (Remover.YOU, None), (Remover.STAYS, bare)):
        told = wheels(fitted=one.fitted, removers=dict.fromkeys(one.fitted, who))
        expected = steps or keys(guide([told], one.fitted))
        assert keys(guide_for(Declared(sets=(told,)))) == expected, who
