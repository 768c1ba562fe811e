"""What can hurt a customer on the way to us stands wherever the errand is given."""

from itertools import product

import pytest

from portal.craft.appraise import Practice, appraise
from portal.craft.bringing import Whereabouts
from portal.craft.parts import Bringing, Declared, PartKind
from portal.craft.safe_errands import (
    BRAKE_DUST,
    IN_A_LINE,
    LIFTING,
    LIFTING_FOR_CALIPERS,
    safe_errands,
)
from portal.shop.pricing.errands import errands
from tests.craft.shelf import part, wheels
from tests.readers import english


# vehicle handbooks: level and firm ground, brake, blocks, nuts loosened on the ground, the jacking
# positions indicated, nobody under a car on its jack
@pytest.mark.parametrize("caution", [LIFTING, LIFTING_FOR_CALIPERS])
def test_the_order_of_the_handbooks_is_told_whole(caution):
    said = english(caution)
    order = (
        "handbook",
        "level ground",
        "chocks",
        "loosened before lifting",
        "jacking points",
        "axle stands",
        "Never get under",
    )
    places = [said.index(word) for word in order]
    assert places == sorted(places)


# OSHA 29 CFR 1910.1001 appendix F: wet methods; dry brushing prohibited
def test_brake_dust_is_washed_off_and_neither_blown_nor_brushed_dry():
    said = english(BRAKE_DUST)
    for word in ("Wash", "water", "Never blow", "brush it dry", "asbestos"):
        assert word in said


@pytest.mark.parametrize(
    ("where", "way", "lifted", "dusty"),
    [
        (Whereabouts.ON_CAR, Bringing.COMPLETE, True, True),
        (Whereabouts.ON_CAR, Bringing.BARE, True, True),
        (Whereabouts.ON_CAR, Bringing.WHOLE_CAR, False, False),
        (Whereabouts.OFF, Bringing.COMPLETE, False, True),
        (Whereabouts.BARE, Bringing.BARE, False, True),
        (None, Bringing.BARE, True, True),
    ],
)
def test_who_takes_wheels_off_is_told_how_and_who_brings_them_of_the_dust(
    where, way, lifted, dusty
):
    found = safe_errands(Declared((wheels(),), way, where))
    assert (LIFTING in found, BRAKE_DUST in found) == (lifted, dusty)


def test_calipers_come_off_behind_a_wheel_too_and_other_parts_need_no_car():
    assert safe_errands(Declared((part(PartKind.CALIPER),))) == (LIFTING_FOR_CALIPERS, BRAKE_DUST)
    assert safe_errands(Declared((part(PartKind.CHAIR),))) == ()


def test_every_way_has_its_cautions_among_the_errands_once():
    kinds = [PartKind.WHEEL, PartKind.CALIPER, PartKind.CHAIR]
    for one, other, where, way in product(kinds, kinds, Whereabouts, Bringing):
        order = Declared((part(one), part(other)), way, where)
        told = errands(order, appraise(order, Practice()), 0)
        for caution in safe_errands(order):
            assert told.count(caution) == 1


def test_every_caution_has_a_line_for_the_slip():
    assert IN_A_LINE.keys() == {LIFTING, LIFTING_FOR_CALIPERS, BRAKE_DUST}
