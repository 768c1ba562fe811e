"""Limits of the trade's rules, each a little below, at and above it; figures by hand."""

from dataclasses import replace

import pytest

from portal.craft.answers import CautionKind, Surface
from portal.craft.cautions import of_oven
from portal.craft.finishes import (
    can_be_made,
    coat_plan,
    finishes_from_samples,
    gloss_band,
    has_clear,
    powders_for,
    system_says,
    system_says_short,
)
from portal.craft.messages import CraftError, Message
from portal.craft.parts import (
    Effect,
    FinishChoice,
    Gloss,
    Metal,
    PartKind,
    Powder,
    System,
    WheelBuild,
)
from portal.craft.quantities import Box, Unit, UnitSystem, celsius, fixed, kg, km, m2, micron, mm
from tests.craft.shelf import SHELF, finish, part, wheels
from tests.readers import english, refusing

OVEN_MM, OVEN_KG = (2400.0, 1500.0, 1200.0), 300.0
INSTEAD = "Ask a coating company with a larger oven. If the part comes apart, bring it in pieces."


def surface(*sides: float, weighs: float = 10.0) -> Surface:
    return Surface(1.0, 0.1, sides, weighs)


@pytest.mark.parametrize(
    ("sides", "weighs", "keys"),
    [
        ((1200.0, 1500.0, 2400.0), 300.0, []),  # it just fits, however it lies
        ((1200.5, 1500.0, 2400.0), 300.0, ["oven_size"]),
        ((1200.0, 1500.5, 2400.0), 300.0, ["oven_size"]),
        ((2400.5, 100.0, 100.0), 300.0, ["oven_size"]),
        ((1600.0, 1600.0, 10.0), 300.0, ["oven_size"]),
        ((100.0, 100.0, 100.0), 300.5, ["oven_weight"]),
        ((2500.0, 100.0, 100.0), 301.0, ["oven_size", "oven_weight"]),
    ],
)
def test_what_fits_the_oven(sides, weighs: float, keys: list[str]) -> None:
    found = of_oven(surface(*sides, weighs=weighs), OVEN_MM, OVEN_KG)
    assert [one.key for one in found] == keys
    assert all(one.kind is CautionKind.REFUSE for one in found)
    assert all(english(one.instead) == INSTEAD for one in found)
    # what is only assumed refuses nothing
    assumed = of_oven(surface(*sides, weighs=weighs), OVEN_MM, OVEN_KG, assumed=True)
    assert [(one.key, one.kind) for one in assumed] == (
        [("oven_open", CautionKind.INSPECT)] if keys else []
    )


def test_a_part_too_large_or_heavy_is_told_with_both_figures() -> None:
    size, weight = of_oven(surface(90.6, 2500.4, 1300.5, weighs=310.4), OVEN_MM, 299.6)
    assert size.says == Message(
        "Too large for our oven: the part is about {part}, the oven holds {room}.",
        part=Box((2500, 1300, 91)),
        room=Box((2400, 1500, 1200)),
    )
    assert weight.says == Message(
        "Too heavy for our oven: the part weighs about {mass}, the rails carry {most}.",
        mass=kg(310),
        most=kg(300),
    )
    assert of_oven(None, OVEN_MM, OVEN_KG) == ()


# -- finishes ---------------------------------------------------------------------------------


@pytest.mark.parametrize("system", System)
def test_a_system_is_told_at_length_and_in_a_few_words(system: System) -> None:
    long, short = english(system_says(system)), english(system_says_short(system))
    assert long.endswith(".")
    assert 0 < len(short) < len(long)
    assert has_clear(system) is (system not in (System.SINGLE, System.TEXTURE))


@pytest.mark.parametrize(
    ("units", "name"),
    [(0, Gloss.MATT), (100, Gloss.HIGH_GLOSS), (101, Gloss.HIGH_GLOSS)],
)
def test_a_gloss_beyond_the_bands_is_the_glossiest(units: int, name: Gloss) -> None:
    assert gloss_band(units) is name


def made(system: System, *codes: str, **shelf: Powder) -> list[str]:
    stock = {**{code: SHELF[code] for code in codes}, **shelf}
    return [
        coat.powder.code for coat in coat_plan(wheels(finish=finish(system, "CANDY")), stock).coats
    ]


BRIGHT = replace(SHELF["BRIGHT"], code="X")


@pytest.mark.parametrize(
    ("change", "first"),
    [
        ({}, "BRIGHT"),
        ({"lab": (BRIGHT.lab[0] + 0.5, *BRIGHT.lab[1:])}, "X"),  # brighter
        ({"lab": (BRIGHT.lab[0] - 0.5, *BRIGHT.lab[1:])}, "BRIGHT"),
        ({"lab": (BRIGHT.lab[0] + 0.5, *BRIGHT.lab[1:]), "effect": Effect.CHROME}, "BRIGHT"),
        ({"lab": (BRIGHT.lab[0] + 0.5, *BRIGHT.lab[1:]), "stock_kg": 0.0}, "BRIGHT"),
        ({"lab": (BRIGHT.lab[0] + 0.5, *BRIGHT.lab[1:]), "effect": Effect.SOLID}, "BRIGHT"),
        ({"lab": (99.0, 30.0, 30.0)}, "BRIGHT"),  # bright, but coloured
    ],
)
def test_which_base_lies_under_a_translucent(change, first: str) -> None:
    found = made(System.TRANSLUCENT, "CANDY", "CLEAR", "BRIGHT", X=replace(BRIGHT, **change))
    assert found[0] == first


def test_the_clear_coat_of_which_there_is_most_is_taken() -> None:
    clear = SHELF["CLEAR"]
    more = {"MORE": replace(clear, code="MORE", stock_kg=clear.stock_kg + 1)}
    same = {"A": replace(clear, code="A")}
    assert made(System.TRANSLUCENT, "CANDY", "CLEAR", "BRIGHT", **more)[-1] == "MORE"
    assert made(System.TRANSLUCENT, "CANDY", "CLEAR", "BRIGHT", **same)[-1] == "A"


REFUSED = [
    (None, SHELF, "finish", "Choose a finish first."),
    (
        finish(System.SINGLE, "NONE"),
        SHELF,
        "finish.colour",
        "We no longer have this colour. Choose another one.",
    ),
    (
        finish(System.SINGLE, "BLACK", face="NONE"),
        SHELF,
        "finish.face",
        "We no longer have this colour. Choose another one.",
    ),
    (
        finish(System.SINGLE, "BLACK", barrel="NONE"),
        SHELF,
        "finish.barrel",
        "We no longer have this colour. Choose another one.",
    ),
    (
        finish(System.TRANSLUCENT, "CANDY"),
        {code: p for code, p in SHELF.items() if p.effect in (Effect.CLEAR, Effect.TRANSLUCENT)},
        "finish.system",
        (
            "We can't offer translucent colours at the moment: the bright base coat is out. Choose "
            "another finish."
        ),
    ),
    (
        finish(System.BASE_CLEAR, "BLACK"),
        {"BLACK": SHELF["BLACK"]},
        "finish.gloss",
        "We have no clear coat in this gloss. Choose another gloss.",
    ),
    (
        finish(System.SINGLE, "CANDY"),
        SHELF,
        "finish.colour",
        f"{SHELF['CANDY'].name} doesn't come in this finish. Choose another colour.",
    ),
]


@pytest.mark.parametrize(("choice", "stock", "key", "says"), REFUSED)
def test_a_finish_that_cannot_be_made_is_refused_at_its_field(choice, stock, key, says) -> None:
    one = wheels(finish=choice)
    with pytest.raises(CraftError) as bad:
        coat_plan(one, stock)
    assert (bad.value.key, english(bad.value.sentence)) == (key, says)
    assert not can_be_made(one, stock)


def test_another_gloss_is_named() -> None:
    black = SHELF["BLACK"]
    other = next(one for one in Gloss if one is not gloss_band(black.gloss_gu))
    choice = FinishChoice(System.SINGLE, "BLACK", other)
    with pytest.raises(CraftError) as bad:
        coat_plan(wheels(finish=choice), SHELF)
    named = english(Message("{gloss}", gloss=gloss_band(black.gloss_gu)))
    assert english(bad.value.sentence) == (
        f"{black.name} comes in another gloss: {named}. Choose that gloss, or another colour."
    )


def test_a_part_that_suits_no_system_is_refused() -> None:
    choice = finish(System.SINGLE, "BLACK")
    one = part(PartKind.BOX, metal=Metal.CARBON, finish=choice)
    with refusing(CraftError, r"^This part can't have this finish\. Choose another one\.$") as bad:
        coat_plan(one, SHELF)
    assert bad.value.key == "finish.system"
    assert not can_be_made(replace(one, finish=replace(choice, colour="")), SHELF)
    assert can_be_made(wheels(finish=replace(choice, colour="")), SHELF)
    assert not can_be_made(wheels(finish=replace(choice, colour="")), {})


def test_two_colours_are_two_coats_side_by_side() -> None:
    face, inside = SHELF["BLACK"], replace(SHELF["BLACK"], code="IN", film_um=(40, 120))
    stock = {"BLACK": face, "IN": inside}
    plan = coat_plan(wheels(finish=finish(System.SINGLE, "BLACK", barrel="IN")), stock)
    assert [(c.role, c.powder.code, english(c.role)) for c in plan.coats] == [
        ("barrel", "IN", "Colour coat, inside (barrel)"),
        ("face", "BLACK", "Colour coat, face"),
    ]
    assert sum(c.share for c in plan.coats) == pytest.approx(1.0)
    # the film where it is thinnest and where it is thickest, never one on the other
    assert plan.film_um == (40, 120)
    assert english(plan.said[-1]) == "2 coats, each baked in the oven."
    alone = coat_plan(wheels(finish=finish(System.SINGLE, "BLACK", barrel="BLACK")), stock)
    assert [c.role for c in alone.coats] == ["colour"]
    assert len(alone.said) == 1
    # another part than a wheel has one colour, whatever was chosen besides
    bench = part(
        PartKind.BENCH, metal=Metal.STEEL, finish=finish(System.SINGLE, "BLACK", face="IN")
    )
    assert [c.powder.code for c in coat_plan(bench, stock).coats] == ["BLACK"]


# cast aluminium at the cure's own temperature for 20 minutes, iron 28 °C (50 °F) above it for 30:
# the rows of data/finishes.toml with their sources
@pytest.mark.parametrize(
    ("one", "bake"),
    [
        (wheels(build=WheelBuild.CAST), (180, 20.0)),
        (wheels(build=WheelBuild.FORGED), None),
        (part(PartKind.BENCH, metal=Metal.CAST_IRON), (208, 30.0)),
        (part(PartKind.BENCH, metal=Metal.STEEL), None),
    ],
)
def test_porous_metal_is_baked_before_its_coats(one, bake) -> None:
    plan = coat_plan(replace(one, finish=finish(System.SINGLE, "BLACK")), SHELF)
    assert plan.pre_bake == bake


def test_samples_lead_to_what_is_in_stock_plain_and_of_the_wanted_gloss_first() -> None:
    choice = FinishChoice(System.SINGLE, "", Gloss.GLOSS, face="F", barrel="B")
    found = finishes_from_samples(choice, SHELF)
    rank = [
        (
            SHELF[one.colour].stock_kg <= 0,
            SHELF[one.colour].effect is not Effect.SOLID,
            one.gloss is not Gloss.GLOSS,
        )
        for one in found
    ]
    assert rank == sorted(rank)
    assert len(set(rank)) > 2
    assert {(one.face, one.barrel) for one in found} == {("", "")}
    assert {one.gloss for one in found} > {Gloss.GLOSS}
    clear = finishes_from_samples(replace(choice, system=System.BASE_CLEAR), SHELF)
    assert {one.gloss for one in clear} == {Gloss.GLOSS}
    assert [one.colour for one in clear] == [
        one.code
        for one in sorted(
            powders_for(System.BASE_CLEAR, Gloss.GLOSS, SHELF),
            key=lambda p: (p.stock_kg <= 0, p.effect is not Effect.SOLID),
        )
    ]


# -- measures ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("make", "unit"),
    [
        (mm, Unit.MM),
        (micron, Unit.UM),
        (celsius, Unit.CELSIUS),
        (kg, Unit.KG),
        (km, Unit.KM),
        (m2, Unit.M2),
    ],
)
def test_a_measure_has_its_unit(make, unit: Unit) -> None:
    assert (make(2.5).value, make(2.5).unit) == (2.5, unit)


def test_which_units_are_usual_where() -> None:
    inch = {
        one for one in ("US", "LR", "GB", "DE", "") if UnitSystem.usual_in(one) is UnitSystem.INCH
    }
    assert inch == {"US", "LR"}
    assert str(fixed(0.2, 2)) == "0.20"
    assert str(fixed(1.25, 0)) == "1"
