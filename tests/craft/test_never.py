"""What must never be done to a part: by metal, kind and damage, with the reason and a source."""

import pytest

from portal.craft.facts import base_metal
from portal.craft.never import Never, forbids, nevers, told_at
from portal.craft.parts import Closed, Damage, Layer, Metal, PartKind, WheelBuild
from portal.craft.tables import toml_table
from portal.shop.route import STATIONS, Fact, PartStage
from tests.craft.shelf import part, wheels
from tests.readers import english

ROWS = toml_table("never.toml")["never"]
ALUMINIUM = {Never.BURN_OFF, Never.STEEL_GRIT, Never.CAUSTIC}
# zinc stands in water of a pH of 6 to 12 (Galvanizers Association of Australia) and is swept with
# soft grit alone (ASTM D6386 and D7803, galvanizeit.org)
ZINC = {Never.BURN_OFF, Never.STEEL_GRIT, Never.ACID, Never.CAUSTIC}


@pytest.mark.parametrize(
    ("metal", "expected"),
    [
        (Metal.CAST_ALUMINIUM, ALUMINIUM),
        (Metal.FORGED_ALUMINIUM, ALUMINIUM),
        (Metal.UNKNOWN, ALUMINIUM | {Never.ACID}),
        (Metal.ZINC_DIECAST, ZINC | {Never.COARSE_GRIT}),
        (Metal.GALVANISED, ZINC | {Never.THROUGH_ZINC}),
        (Metal.STAINLESS, {Never.STEEL_GRIT}),
        (Metal.STEEL, set()),
        (Metal.CAST_IRON, set()),
    ],
)
def test_each_metal_has_what_would_ruin_it(metal: Metal, expected: set[Never]) -> None:
    assert set(nevers(part(PartKind.BOX, metal=metal))) == expected


def test_zinc_under_paint_counts_as_galvanised_steel() -> None:
    gate = part(PartKind.RAILING, metal=Metal.STEEL, layers=(Layer.POWDER, Layer.GALVANISED))
    assert base_metal(gate) is Metal.GALVANISED
    assert Never.THROUGH_ZINC in nevers(gate)
    bare = part(PartKind.RAILING, metal=Metal.STEEL, layers=(Layer.POWDER,))
    assert nevers(bare) == ()


@pytest.mark.parametrize(
    ("damage", "expected"),
    [
        (Damage.KERB_RASH, {Never.FILLER}),
        (Damage.CORROSION, {Never.FILLER}),
        (Damage.BEND, {Never.STRAIGHTEN}),
    ],
)
def test_a_damaged_wheel_is_neither_filled_nor_straightened(damage, expected) -> None:
    steel = wheels(build=WheelBuild.STEEL, damage=(damage,))
    # truck wheel practice RP 240 advises against sand or grit by itself on steel wheels
    assert set(nevers(steel)) == expected | {Never.GRIT_ALONE, Never.DRY_DUST}


def test_calipers_and_frames_of_aluminium_get_no_heat_without_their_maker() -> None:
    caliper = nevers(part(PartKind.CALIPER, metal=Metal.CAST_ALUMINIUM))
    assert {Never.MAKER_HEAT, Never.GRIT_INSIDE} <= set(caliper)
    assert Never.MAKER_HEAT not in nevers(part(PartKind.CALIPER, metal=Metal.CAST_IRON))
    assert Never.MAKER_HEAT in nevers(part(PartKind.FRAME, metal=Metal.FORGED_ALUMINIUM))


def test_old_paint_never_burns_off_whatever_the_metal() -> None:
    gate = part(PartKind.RAILING, metal=Metal.STEEL)
    assert nevers(gate) == ()
    assert Never.BURN_OFF in nevers(gate, before_1980=True)
    assert told_at("strip", nevers(gate, before_1980=True)) == (Never.BURN_OFF,)


def test_each_row_is_told_at_a_station_that_tells_it_or_to_the_customer_alone() -> None:
    telling = {stage.value for stage in STATIONS if stage.tells(Fact.NEVER)}
    assert {Never(row["never"]) for row in ROWS} == set(Never)
    told = {stage.value: told_at(stage.value, Never) for stage in PartStage}
    assert {stage for stage, some in told.items() if some} == telling
    assert set(Never) - {one for some in told.values() for one in some} == {Never.AT_HOME}


def test_each_row_can_hold_and_has_its_sentence() -> None:
    for metal in Metal:
        for kind in PartKind:
            one = part(kind, metal=metal, damage=tuple(Damage))
            said = [english(says) for says in forbids(one, before_1980=True)]
            assert len(said) == len(set(said))
            assert bool(said) is bool(nevers(one, before_1980=True))
            assert all(text.endswith(".") and "{" not in text for text in said)


# ASTM B850, ISO 9588: acid makes hard steel brittle by hydrogen
def test_a_spring_meets_no_acid() -> None:
    spring = part(PartKind.OTHER, metal=Metal.STEEL, closed=(Closed.SPRING,))
    assert nevers(spring) == (Never.ACID,)
    assert told_at("strip", nevers(spring)) == (Never.ACID,)


# OSHA 29 CFR 1910.1001 appendix F: no dry brushing of brakes; their dust lies on wheels too
def test_brake_dust_is_washed_off_where_wheels_and_calipers_are_prepared() -> None:
    for kind in PartKind:
        dusty = kind in (PartKind.WHEEL, PartKind.CALIPER)
        assert (Never.DRY_DUST in nevers(part(kind))) is dusty
    assert [one for one in PartStage if told_at(one.value, [Never.DRY_DUST])] == ["prep"]
