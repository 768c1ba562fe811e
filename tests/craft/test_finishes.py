"""Coat systems, gloss and films against published categories."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.finishes import (
    BANDS,
    coat_plan,
    gloss_band,
    gloss_range_gu,
    gloss_tolerance_gu,
    glosses_for,
    has_clear,
    powders_for,
    system_says,
    systems_for,
)
from portal.craft.messages import CraftError
from portal.craft.parts import Effect, Gloss, Layer, Metal, PartKind, System, WheelBuild
from tests.craft.shelf import SHELF, finish, part, wheels
from tests.readers import english


# Qualicoat on ISO 2813 at 60°: 0–30 ±5, 31–70 ±7, 71–100 ±10 units (vereniging-qualion.nl)
@pytest.mark.parametrize(
    ("nominal", "tolerance"), [(0, 5), (30, 5), (31, 7), (70, 7), (71, 10), (100, 10)]
)
def test_gloss_tolerances_are_those_of_the_quality_label(nominal, tolerance):
    assert gloss_tolerance_gu(nominal) == tolerance
    low, high = gloss_range_gu(nominal)
    assert (low, high) == (max(0, nominal - tolerance), nominal + tolerance)


@given(st.floats(0, 100))
def test_every_gloss_has_one_name_of_ours(units):
    name = gloss_band(units)
    assert units <= BANDS[name][1]
    assert [band for band in BANDS if band is name] == [name]


def test_our_bands_lie_end_to_end():
    edges = sorted(BANDS.values())
    assert edges[0][0] == 0
    assert edges[-1][1] == 100
    assert all(high + 1 == low for (_, high), (low, _) in pairwise(edges))


def test_aluminium_wheels_may_have_any_system_and_magnesium_none():
    assert set(systems_for(wheels())) == set(System)
    assert systems_for(wheels(build=WheelBuild.MAGNESIUM)) == ()
    assert systems_for(part(PartKind.BOX, metal=Metal.CARBON)) == ()
    assert System.MACHINED_CLEAR not in systems_for(wheels(build=WheelBuild.STEEL))


def test_what_is_in_stock_is_offered_first():
    codes = [powder.code for powder in powders_for(System.SINGLE, Gloss.GLOSS, SHELF)]
    assert codes[-1] == "RED"  # the only one to be bought
    assert "BLACK-S" not in codes
    assert "CLEAR" not in codes


def test_a_gloss_without_its_clear_coat_is_not_offered():
    assert glosses_for(System.BASE_CLEAR, SHELF) == (Gloss.SATIN, Gloss.GLOSS)
    assert powders_for(System.BASE_CLEAR, Gloss.MATT, SHELF) == ()


def test_a_translucent_colour_gets_a_bright_neutral_base_and_a_clear_coat():
    plan = coat_plan(wheels(finish=finish(System.TRANSLUCENT, "CANDY")), SHELF)
    assert [coat.powder.code for coat in plan.coats] == ["BRIGHT", "CANDY", "CLEAR"]
    # the base coats are baked for about half of their time (chemquest.com/?p=4875)
    assert [coat.cure_min for coat in plan.coats] == [7.5, 7.5, 15.0]
    assert [coat.full_cure for coat in plan.coats] == [False, False, True]


def test_without_a_bright_base_no_translucent_colour_is_offered():
    dull = {code: p for code, p in SHELF.items() if code not in {"BRIGHT", "LOOK"}}
    assert powders_for(System.TRANSLUCENT, Gloss.GLOSS, dull) == ()
    with pytest.raises(CraftError) as caught:
        coat_plan(wheels(finish=finish(System.TRANSLUCENT, "CANDY")), dull)
    assert caught.value.key == "finish.system"


def test_films_add_up_and_two_coats_reach_the_published_minimum():
    plan = coat_plan(wheels(finish=finish(System.BASE_CLEAR, "BLACK")), SHELF)
    assert plan.film_um == (60 + 50, 90 + 75)
    # two-coat powder at least 110 µm (quality label for coated aluminium, from memory)
    assert plan.film_um[0] >= 110


def test_colours_side_by_side_share_the_area_and_not_the_film():
    plan = coat_plan(wheels(finish=finish(System.SINGLE, "BLACK", face="RED")), SHELF)
    assert [coat.role for coat in plan.coats] == ["barrel", "face"]
    assert sum(coat.share for coat in plan.coats) == pytest.approx(1)
    assert plan.film_um == (60, 90)


def test_face_and_barrel_in_one_colour_are_one_coat():
    plan = coat_plan(
        wheels(finish=finish(System.SINGLE, "RED", face="BLACK", barrel="BLACK")), SHELF
    )
    assert [coat.powder.code for coat in plan.coats] == ["BLACK"]


def test_a_clear_coat_decides_the_gloss():
    plan = coat_plan(wheels(finish=finish(System.BASE_CLEAR, "BLACK", Gloss.SATIN)), SHELF)
    assert plan.gloss_gu == (45 - 7, 45 + 7)


def test_the_colour_under_a_machined_face_is_cured_fully_before_the_lathe():
    plan = coat_plan(wheels(finish=finish(System.MACHINED_CLEAR, "BLACK")), SHELF)
    assert [coat.full_cure for coat in plan.coats] == [True, True]


# a published advice is 50 °F (28 °C) above the cure (pfonline.com); aluminium must not have that
def test_porous_metal_is_baked_first_but_aluminium_never_hotter_than_its_cure():
    single = finish(System.SINGLE, "BLACK")
    assert coat_plan(wheels(), SHELF).pre_bake == (180, 20.0)
    iron = part(PartKind.CALIPER, metal=Metal.CAST_IRON, finish=single)
    assert coat_plan(iron, SHELF).pre_bake == (208, 30.0)
    zinc = part(PartKind.RAILING, metal=Metal.STEEL, layers=(Layer.GALVANISED,), finish=single)
    assert coat_plan(zinc, SHELF).pre_bake is not None
    steel = part(PartKind.RAILING, metal=Metal.STEEL, finish=single)
    assert coat_plan(steel, SHELF).pre_bake is None


@pytest.mark.parametrize(
    ("choice", "key"),
    [
        (None, "finish"),
        (finish(System.SINGLE, "GONE"), "finish.colour"),
        (finish(System.SINGLE, "CLEAR"), "finish.colour"),
        (finish(System.SINGLE, "BLACK-S", Gloss.GLOSS), "finish.colour"),
        (finish(System.SINGLE, "BLACK", face="GONE"), "finish.face"),
        (finish(System.SINGLE, "BLACK", barrel="GRAIN"), "finish.barrel"),
        (finish(System.BASE_CLEAR, "BLACK", Gloss.MATT), "finish.gloss"),
    ],
)
def test_a_finish_that_cannot_be_made_is_blamed_on_its_field(choice, key):
    with pytest.raises(CraftError) as caught:
        coat_plan(wheels(finish=choice), SHELF)
    assert caught.value.key == key
    assert english(caught.value.sentence).endswith(".")


def test_a_system_that_does_not_suit_the_part_is_refused():
    with pytest.raises(CraftError) as caught:
        coat_plan(part(PartKind.CALIPER, finish=finish(System.TEXTURE, "GRAIN")), SHELF)
    assert caught.value.key == "finish.system"


@pytest.mark.parametrize("system", System)
def test_every_system_can_be_made_from_a_full_shelf_and_says_what_it_is(system):
    for gloss in glosses_for(system, SHELF):
        for powder in powders_for(system, gloss, SHELF):
            plan = coat_plan(wheels(finish=finish(system, powder.code, gloss)), SHELF)
            assert plan.said[0] == system_says(system)
            assert (plan.coats[-1].powder.effect is Effect.CLEAR) is has_clear(system)
    assert glosses_for(system, SHELF)
