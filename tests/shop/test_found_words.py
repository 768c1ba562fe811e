"""What a customer wasn't sure of is no difference from the order: the sentence says what it is."""

from dataclasses import replace

import pytest

from portal.craft.parts import Damage, Layer, Metal, PartKind, PartSet, Rim, WheelBuild
from portal.shop.finding_words import describe_difference
from portal.shop.pricing.differences import Difference
from tests.readers import english

WHEELS = PartSet("A", PartKind.WHEEL, 4, build=WheelBuild.CAST, rim=Rim(18, 8))
PLATES = PartSet("A", PartKind.PLATE, 2, metal=Metal.STEEL, size_mm=(300.0, 200.0, 3.0))


@pytest.mark.parametrize(
    ("real", "change", "numbers", "says"),
    [
        (
            WHEELS,
            {"build": WheelBuild.UNKNOWN},
            (1, 2),
            "You weren't sure what 2 wheels are made of (numbers 1, 2). We found: Cast aluminium.",
        ),
        (
            PLATES,
            {"metal": Metal.UNKNOWN},
            (2,),
            "You weren't sure what one part is made of (number 2). We found: Steel.",
        ),
        (
            replace(WHEELS, layers=(Layer.POWDER,)),
            {"layers": (Layer.UNKNOWN,)},
            (1,),
            "You weren't sure of the old finish on one wheel (number 1). We found: Powder coat.",
        ),
        (
            WHEELS,
            {"rim": None},
            (1, 2, 3, 4),
            "You weren't sure of the size of 4 wheels (numbers 1, 2, 3, 4). We measured: 8J×18.",
        ),
        (
            WHEELS,
            {"build": WheelBuild.STEEL},
            (3,),
            (
                "One wheel is of a different metal or build from your order (number 3). We found: "
                "Cast aluminium. Your order says: Steel."
            ),
        ),
    ],
)
def test_a_finding_says_whether_the_order_knew_it(real, change, numbers, says) -> None:
    declared = replace(real, **change)
    (told,) = describe_difference(declared, Difference("A", numbers, real), {})
    assert english(told) == says


DAMAGED = replace(WHEELS, damage=(Damage.BEND,), damaged={Damage.BEND: 1})


@pytest.mark.parametrize(
    ("declared", "real", "numbers", "says"),
    [
        (
            DAMAGED,
            replace(WHEELS, count=3, damage=(Damage.BEND,), damaged={Damage.BEND: 3}),
            (1, 2, 4),
            (
                "We found this damage on 3 wheels (numbers 1, 2, 4): A bend or dent. Your order "
                "says: 1 of 4."
            ),
        ),
        (
            WHEELS,
            replace(WHEELS, count=1, damage=(Damage.CRACK,)),
            (2,),
            "We found a crack in one wheel that you didn't mention (number 2).",
        ),
        (
            DAMAGED,
            replace(WHEELS, count=2),
            (1, 2),
            "2 wheels don't have the damage you mentioned (numbers 1, 2): A bend or dent.",
        ),
    ],
)
def test_damage_is_told_with_how_many_and_what_the_order_says(
    declared, real, numbers, says
) -> None:
    (told,) = describe_difference(declared, Difference("A", numbers, real), {})
    assert english(told) == says
