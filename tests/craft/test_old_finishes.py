"""Strip routes: every layer stack on every metal, and the rules that must never bend."""

from itertools import combinations

import pytest

from portal.craft.answers import RouteKind
from portal.craft.facts import base_metal, layers_on
from portal.craft.old_finishes import route
from portal.craft.parts import Damage, Layer, Metal, PartKind, WheelBuild
from tests.craft.shelf import part, wheels
from tests.readers import english

ALUMINIUM = (Metal.CAST_ALUMINIUM, Metal.FORGED_ALUMINIUM, Metal.UNKNOWN)
STACKS = [()] + [stack for n in (1, 2, 3) for stack in combinations(Layer, n)]


def sentences(way):
    return [english(one) for one in (*way.why, *way.forbids, *way.leaves, *way.to_inspect)]


@pytest.mark.parametrize("metal", Metal)
def test_every_stack_of_up_to_three_layers_has_a_route_with_words(metal):
    for stack in STACKS:
        way = route(part(PartKind.BOX, metal=metal, layers=stack))
        assert way.kinds
        assert way.why
        assert all(text.endswith(".") and "{" not in english(text) for text in sentences(way))
        assert (way.refused is not None) is (metal in (Metal.MAGNESIUM, Metal.CARBON))
        if way.refused is None:
            assert way.kinds[-1] is RouteKind.BLAST
            assert way.blast_minutes > 0
            assert way.outside is (way.outside_days > 0)


# magnesium dust explodes (DGUV Information 209-090); carbon fibre is not metal
@pytest.mark.parametrize("build", [WheelBuild.MAGNESIUM, WheelBuild.CARBON])
def test_magnesium_and_carbon_get_no_blasting_stripping_or_baking(build):
    way = route(wheels(build=build))
    assert way.kinds == (RouteKind.NOT_HERE,)
    assert way.refused
    assert (way.blast_minutes, way.bench_minutes, way.outside) == (0, 0, False)


# burn-off ovens run above 340 °C (from memory); 250 °C already costs 40 % of the hardness
# (published tests)
@pytest.mark.parametrize("metal", ALUMINIUM)
@pytest.mark.parametrize("layer", Layer)
def test_aluminium_never_goes_into_a_burn_off_oven(metal, layer):
    way = route(part(PartKind.BOX, metal=metal, layers=(layer,)))
    assert any("burn-off oven" in english(text) for text in way.forbids)


def test_steel_may_be_blasted_in_one_go_and_stays_in_the_house():
    way = route(wheels(build=WheelBuild.STEEL, layers=(Layer.FACTORY_PAINT,)))
    assert way.kinds == (RouteKind.BLAST,)
    assert not way.outside


def test_zinc_is_never_put_into_a_stripping_bath():
    for layer in (Layer.FACTORY_PAINT, Layer.POWDER, Layer.LIQUID_PAINT, Layer.UNKNOWN):
        for told in (
            part(PartKind.RAILING, metal=Metal.GALVANISED, layers=(layer,)),
            part(PartKind.RAILING, metal=Metal.STEEL, layers=(layer, Layer.GALVANISED)),
        ):
            assert RouteKind.CHEMICAL not in route(told).kinds


def test_steel_with_zinc_on_it_is_galvanised_whichever_was_told():
    assert base_metal(part(PartKind.TUBE, metal=Metal.STEEL, layers=(Layer.GALVANISED,))) == (
        Metal.GALVANISED
    )
    assert Layer.GALVANISED in layers_on(part(PartKind.TUBE, metal=Metal.GALVANISED))


def test_a_rubber_coating_is_peeled_by_hand_before_anything_else():
    way = route(wheels(layers=(Layer.PEELABLE, Layer.FACTORY_PAINT)))
    assert way.kinds == (RouteKind.PEEL, RouteKind.CHEMICAL, RouteKind.BLAST)


@pytest.mark.parametrize("cover", [Layer.PEELABLE, Layer.WRAP])
def test_a_cover_alone_hides_a_finish_that_nobody_mentioned(cover):
    way = route(wheels(layers=(cover,)))
    assert way.kinds == (RouteKind.PEEL, RouteKind.CHEMICAL, RouteKind.BLAST)
    assert any(
        "We check the old finish before we strip it. The" in english(text)
        for text in way.to_inspect
    )


def test_chrome_goes_to_a_specialist_even_if_only_the_build_tells_of_it():
    told = route(wheels(layers=(Layer.CHROME,)))
    implied = route(wheels(build=WheelBuild.CHROME_PLATED, layers=()))
    assert told == implied
    assert RouteKind.DEPLATE in told.kinds
    assert told.outside_days >= 5


def test_paint_over_chrome_means_two_stays_outside():
    paint = route(wheels(layers=(Layer.FACTORY_PAINT,))).outside_days
    chrome = route(wheels(layers=(Layer.CHROME,))).outside_days
    assert route(wheels(layers=(Layer.FACTORY_PAINT, Layer.CHROME))).outside_days == paint + chrome


def test_two_paints_in_one_bath_are_one_stay():
    both = route(wheels(layers=(Layer.LIQUID_PAINT, Layer.FACTORY_PAINT)))
    assert both.outside_days == route(wheels(layers=(Layer.LIQUID_PAINT,))).outside_days


def test_paint_from_before_1980_is_never_sanded_at_home_and_tested_first():
    way = route(wheels(), before_1980=True)
    assert any("Don't sand" in english(text) for text in way.forbids)
    assert any("lead and chromate" in english(text) for text in way.to_inspect)
    assert not any("lead" in english(text) for text in sentences(route(wheels())))


def test_kerb_rash_costs_bench_time_and_leaves_dips():
    way = route(wheels(damage=(Damage.KERB_RASH,)))
    assert way.bench_minutes > route(wheels()).bench_minutes
    assert any("soft dips" in english(text) for text in way.leaves)


def test_a_larger_part_takes_longer_to_blast_within_reason():
    minutes = [route(wheels(), area_m2=area).blast_minutes for area in (0.01, 0.3, 0.9, 3, 1000)]
    assert minutes == sorted(minutes)
    assert minutes[-1] <= 8 * minutes[2]
    assert route(wheels()).blast_minutes == minutes[2]


def test_a_multi_piece_wheel_of_unknown_metal_is_taken_for_forged_aluminium():
    assert base_metal(wheels(build=WheelBuild.MULTI_PIECE)) is Metal.FORGED_ALUMINIUM
    assert base_metal(wheels(build=WheelBuild.MULTI_PIECE, metal=Metal.STEEL)) is Metal.STEEL
    assert base_metal(wheels(build=WheelBuild.UNKNOWN)) is Metal.UNKNOWN


# truck wheel practice RP 240 (fleetequipmentmag.com): "Sandblasting or grit by itself is not
# recommended"
def test_a_steel_wheel_is_not_blasted_with_sand_or_grit_alone():
    steel, chair = (
        " ".join(map(english, route(one).forbids))
        for one in (wheels(build=WheelBuild.STEEL), part(PartKind.CHAIR, metal=Metal.STEEL))
    )
    assert "Never sand or grit alone" in steel
    assert "Never sand or grit alone" not in chair
