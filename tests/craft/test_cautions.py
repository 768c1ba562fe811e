"""Refusals, inspections, confirmations: each with its reason, and none that calls a part safe."""

from dataclasses import replace
from itertools import product

import pytest

from portal.craft import cautions
from portal.craft.answers import About, CautionKind, Heat, RouteKind, Surface
from portal.craft.cautions import of_heat
from portal.craft.facts import facts_of
from portal.craft.messages import Message
from portal.craft.old_finishes import route
from portal.craft.parts import (
    Bringing,
    Closed,
    Damage,
    Declared,
    Item,
    Layer,
    Metal,
    PartKind,
    Remover,
    System,
    WheelBuild,
)
from portal.craft.removals import removals
from portal.craft.tables import toml_table
from tests.craft.shelf import finish, part, wheels
from tests.readers import english

ROWS = [*toml_table("cautions.toml")["caution"], *toml_table("cautions.toml")["order"]]


def of(part_set, kind=None, bringing=None):
    found = cautions.from_table(part_set, facts_of(part_set, bringing))
    return {c.key: c for c in found if kind is None or c.kind is kind}


@pytest.mark.parametrize(
    ("assumed", "key", "kind"),
    [(True, "heat_open", CautionKind.INSPECT), (False, "heat", CautionKind.REFUSE)],
)
def test_too_much_heat_is_looked_into_while_something_is_assumed(assumed, key, kind):
    said = (Message("Too much heat."),)
    heat = Heat((), 90.0, 80.0, 0.1, allowed=False, said=said, assumed=assumed)
    (told,) = of_heat(heat)
    assert (told.key, told.kind, told.about) == (key, kind, About.FINISH)
    assert told.source
    assert of_heat(replace(heat, allowed=True)) == of_heat(None) == ()


@pytest.mark.parametrize("row", ROWS, ids=[row["key"] for row in ROWS])
def test_every_row_is_a_kind_sentence_with_a_condition_that_is_known(row):
    assert row["says"].endswith(".")
    assert CautionKind(row["kind"])
    known = {*facts_of(wheels()), "order"}
    assert {key.removeprefix("not_") for key in row["when"]} <= known
    if row["kind"] == "refuse":
        assert row["instead"], "whoever is refused is told what to do instead"


def test_keys_are_used_once():
    keys = [row["key"] for row in ROWS]
    assert len(keys) == len(set(keys))


def test_nothing_ever_calls_a_part_safe():
    for row in ROWS:
        words = f"{row['says']} {row.get('instead', '')}".lower()
        # what we do not test and what a weld does not do may be said
        words = words.replace("don't test whether they are safe", "")
        assert "is safe" not in words
        assert "are safe" not in words


# ministry guideline and vehicle maker's bulletin: cracks → reject; no welding, no straightening
@pytest.mark.parametrize("kind", [PartKind.WHEEL, PartKind.CALIPER, PartKind.FRAME])
def test_a_cracked_part_that_carries_people_is_refused_with_a_reason(kind):
    found = of(part(kind, damage=(Damage.CRACK,)), CautionKind.REFUSE)
    assert "crack" in found
    assert "We don't coat cracked wheels, calipers or" in english(found["crack"].says)
    assert found["crack"].about is About.STATE


def test_a_welded_wheel_is_refused_but_a_welded_railing_is_looked_at():
    assert "weld" in of(wheels(damage=(Damage.OLD_WELD,)), CautionKind.REFUSE)
    railing = part(PartKind.RAILING, damage=(Damage.OLD_WELD,))
    assert not of(railing, CautionKind.REFUSE)
    assert "weld_other" in of(railing, CautionKind.INSPECT)


def test_a_bent_wheel_is_measured_first_and_never_straightened():
    bend = of(wheels(damage=(Damage.BEND,)), CautionKind.INSPECT)["bend"]
    assert "We measure a bent wheel before we start. If it" in english(bend.says)
    assert "We measure a bent wheel before we start. If it" in english(bend.says)


def test_multi_piece_wheels_must_be_taken_apart():
    assert "taken apart" in english(of(wheels(build=WheelBuild.MULTI_PIECE))["multi_piece"].says)


@pytest.mark.parametrize("kind", [PartKind.TUBE, PartKind.BOX, PartKind.FRAME, PartKind.RAILING])
def test_sealed_and_pressurised_things_are_ruled_out(kind):
    sealed = of(part(kind), CautionKind.CONFIRM)["sealed"]
    assert "gas strut" in english(sealed.says)
    assert "burst" in english(sealed.says)


HOLLOW = [PartKind.TUBE, PartKind.BENCH, PartKind.OTHER]


@pytest.mark.parametrize("kind", HOLLOW)
@pytest.mark.parametrize("closed", [Closed.PRESSURE, Closed.AIRBAG, Closed.GLUED])
def test_what_cannot_stand_the_oven_is_refused_by_name_with_what_to_do(kind, closed):
    (refusal,) = of(part(kind, closed=(closed,)), CautionKind.REFUSE).values()
    assert refusal.instead
    assert len(english(refusal.says).split()) < 25  # never a list in one long sentence


@pytest.mark.parametrize("kind", HOLLOW)
def test_a_tank_and_a_closed_tube_have_a_condition(kind):
    found = of(part(kind, closed=(Closed.TANK, Closed.SEALED_TUBE)))
    assert found["tank"].kind is CautionKind.CONFIRM
    assert "licensed" in english(found["tank"].instead)
    assert found["sealed_tube"].kind is CautionKind.CONFIRM
    assert "vent hole" in english(found["sealed_tube"].says)


@pytest.mark.parametrize("kind", HOLLOW)
def test_whoever_does_not_know_is_not_refused_and_nobody_ticks_what_was_answered(kind):
    unsure = of(part(kind, closed=(Closed.UNKNOWN,)))
    assert unsure["maybe_closed"].kind is CautionKind.INSPECT
    for answer in (Closed.NONE, Closed.UNKNOWN, Closed.TANK):
        assert "sealed" not in of(part(kind, closed=(answer,)))


def test_calipers_and_frames_come_empty():
    assert "empty_caliper" in of(part(PartKind.CALIPER), CautionKind.CONFIRM)
    assert "empty_frame" in of(part(PartKind.FRAME), CautionKind.CONFIRM)
    assert "bearings_out" in of(wheels(fitted=(Item.BEARINGS,)), CautionKind.CONFIRM)


@pytest.mark.parametrize("metal", [Metal.GALVANISED, Metal.ZINC_DIECAST, Metal.CAST_IRON])
def test_gas_in_the_metal_is_never_promised_away(metal):
    assert "Gas trapped in this metal can leave pinholes in" in english(
        of(part(PartKind.RAILING, metal=metal))["gas"].says
    )


def test_a_bright_face_that_will_be_lost_is_confirmed_where_it_is_chosen_away():
    bright = (Layer.MACHINED,)
    lost = of(wheels(layers=bright), CautionKind.CONFIRM)["machined_lost"]
    assert lost.about is About.FINISH
    kept = wheels(layers=bright, finish=finish(System.MACHINED_CLEAR, "BLACK"))
    assert "machined_lost" not in of(kept)


@pytest.mark.parametrize("build", WheelBuild)
def test_every_wheel_has_one_thing_to_confirm_about_the_road_and_alloys_about_heat_too(build):
    confirms = of(wheels(build=build), CautionKind.CONFIRM)
    (road,) = (c for key, c in confirms.items() if key.startswith("not_tested"))
    assert "We coat wheels. We don't test whether they are" in english(road.says)
    alloy = build not in {WheelBuild.STEEL, WheelBuild.MAGNESIUM, WheelBuild.CARBON}
    assert ("advise against" in english(road.says)) is alloy


def test_one_wheel_alone_is_told_that_it_may_not_match():
    assert "few" in of(wheels(count=1))
    assert "few" not in of(wheels(count=4))


def test_whoever_brings_the_car_brings_the_key_for_its_locking_nuts():
    assert "lock_key" in of(wheels(), bringing=Bringing.WHOLE_CAR)
    assert "lock_key" not in of(wheels(), bringing=Bringing.BARE)


@pytest.mark.parametrize("item", Item)
def test_whatever_must_come_off_may_not_stay_on(item):
    one = wheels(fitted=(item,), removers={item: Remover.STAYS})
    (refusal,) = cautions.of_items(one, removals(one, None))
    assert refusal.kind is CautionKind.REFUSE
    assert refusal.says == removals(one, None)[0].why[0]
    assert not cautions.of_items(wheels(fitted=(item,)), removals(one, None))


# a box fits an oven when its sorted edges do (axis-parallel)
@pytest.mark.parametrize(
    ("size", "fits"),
    [((1990, 1000, 100), True), ((100, 1990, 1000), True), ((2001, 10, 10), False)],
)
def test_a_part_fits_the_oven_however_it_is_turned(size, fits):
    surface = Surface(1.0, 0.1, size, 10.0)
    found = cautions.of_oven(surface, (1500, 2000, 1000), 100)
    assert (found == ()) is fits
    if not fits:
        assert "2,001" in english(found[0].says)


def test_a_part_too_heavy_for_the_rails_is_refused():
    found = cautions.of_oven(Surface(1.0, 0.1, (10, 10, 10), 101.0), (100, 100, 100), 100)
    assert [c.key for c in found] == ["oven_weight"]
    assert cautions.of_oven(None, (1, 1, 1), 1) == ()


def test_a_screen_is_never_a_colour_sample():
    found = cautions.of_order(Declared(sets=(wheels(),)))
    assert [c.key for c in found] == ["screen"]
    assert cautions.of_order(Declared(sets=(wheels(finish=None),))) == ()


def test_old_paint_is_never_sanded_at_home():
    (found,) = cautions.of_order(Declared(original_before_1980=True))
    assert "Paint from before 1980 can contain lead or" in english(found.says)
    assert "licensed" in english(found.instead)


@pytest.mark.parametrize(("kind", "damage"), list(product(PartKind, Damage)))
def test_every_damage_on_every_part_is_answered(kind, damage):
    assert any(c.about is About.STATE for c in of(part(kind, damage=(damage,))).values()) or (
        damage is Damage.CORROSION
    )


SPRING = (Closed.SPRING,)


# ASTM B850, ISO 9588: acid can make hard steel brittle by hydrogen
def test_a_spring_is_asked_for_acid_and_never_meets_any_here():
    spring = part(PartKind.OTHER, closed=SPRING, layers=(Layer.POWDER,))
    found = of(spring)
    assert found["spring"].kind is CautionKind.CONFIRM
    assert "acid" in english(found["spring"].says)
    assert "spring compressor" in english(found["spring"].instead)
    assert found["spring_rust"].kind is CautionKind.INSPECT
    chromed = part(PartKind.TUBE, metal=Metal.STEEL, closed=SPRING, layers=(Layer.CHROME,))
    assert of(chromed, CautionKind.REFUSE).keys() == {"spring_acid"}


@pytest.mark.parametrize("layer", [one for one in Layer if one is not Layer.CHROME])
def test_a_spring_of_unknown_metal_is_steel_and_goes_to_no_bath(layer):
    spring = part(PartKind.OTHER, metal=Metal.UNKNOWN, closed=SPRING, layers=(layer,))
    way = route(spring)
    assert not way.outside
    assert not {RouteKind.CHEMICAL, RouteKind.DEPLATE} & set(way.kinds)


# Maldonado et al. 2009: 204 °C lowers the strength of 6061-T6
@pytest.mark.parametrize("kind", [PartKind.FRAME, PartKind.CALIPER])
def test_aluminium_that_carries_lives_is_baked_only_with_its_makers_leave(kind):
    for metal in (Metal.CAST_ALUMINIUM, Metal.FORGED_ALUMINIUM, Metal.UNKNOWN):
        leave = of(part(kind, metal=metal), CautionKind.CONFIRM)["maker_leave"]
        assert "permission in writing" in english(leave.says)
    for metal in (Metal.STEEL, Metal.CAST_IRON, Metal.STAINLESS):
        assert "maker_leave" not in of(part(kind, metal=metal))
    assert "maker_leave" not in of(part(PartKind.CHAIR, metal=Metal.CAST_ALUMINIUM))


def test_a_frame_with_glued_lugs_is_refused():
    glued = of(part(PartKind.FRAME, closed=(Closed.GLUED,)), CautionKind.REFUSE)["glued"]
    assert "between tubes and lugs" in english(glued.says)
    assert "lugs" in english(Closed.GLUED.title)
    assert "carbon" in english(Closed.GLUED.title)


# REACH annex XVII entry 59 (EU and GB), 40 CFR 751 (US): no dichloromethane strippers for consumers
@pytest.mark.parametrize(
    "layer", [Layer.FACTORY_PAINT, Layer.POWDER, Layer.PEELABLE, Layer.UNKNOWN]
)
def test_who_might_strip_at_home_is_warned_of_dichloromethane_wherever_he_lives(layer):
    warned = of(wheels(layers=(layer,)))["home_stripper"]
    for word in ("dichloromethane", "methylene chloride", "EU", "Great Britain", "US"):
        assert word in english(warned.says)
    assert "home_stripper" not in of(wheels(layers=(Layer.BARE,)))
