"""Film, adhesion and gloss: published worked examples decide."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.inspection import (
    adhesion,
    adhesion_of_flaked,
    cut_spacing_mm,
    gloss,
    gloss_tolerance,
    quality_label,
    spot_rule,
)
from portal.craft.messages import CraftError
from tests.readers import english


@pytest.mark.parametrize(
    ("values", "printed_mean", "accepted"),
    # the quality label's own four examples for a minimum of 60 µm, from memory; the printed means
    # agree with the values
    [
        ([82, 68, 75, 93, 86], 81, True),
        ([75, 68, 63, 66, 56], 66, True),
        ([57, 60, 59, 62, 53], 58, False),
        ([85, 67, 71, 64, 44], 66, False),
    ],
)
def test_the_quality_labels_examples(values, printed_mean, accepted):
    verdict = quality_label(values, 60)
    assert verdict.accepted is accepted
    assert round(verdict.mean) == printed_mean
    assert verdict.lowest == min(values)


def test_a_refused_film_says_which_figure_is_to_blame():
    assert "44 µm, below 48 µm" in english(quality_label([85, 67, 71, 64, 44], 60).says)
    assert "mean is 58 µm" in english(quality_label([57, 60, 59, 62, 53], 60).says)


def test_exactly_eighty_percent_is_still_accepted():
    assert quality_label([48, 75, 75, 75, 75], 60).accepted


def test_fewer_than_five_values_are_no_test():
    with pytest.raises(CraftError, match=r"readings.*count=5"):
        quality_label([80, 80, 80, 80], 60)


def spots(*means):
    return [[mean - 1, mean, mean + 1] for mean in means]


@pytest.mark.parametrize(
    ("means", "accepted"),
    # slideplayer.com/slide/1430003: 8 to 12 mil: a spot may be 6.4 to 14.4, the mean 8 to 12
    [
        ((8, 9, 10, 11, 12), True),
        ((6.5, 9, 10, 11, 12), True),
        ((6.3, 9, 10, 11, 12), False),
        ((14.3, 9, 10, 11, 12), True),
        ((14.5, 9, 10, 11, 12), False),
        ((7, 7, 8, 8, 8), False),
        ((12.5, 12.5, 12, 12.2, 12.5), False),
    ],
)
def test_the_spot_rules_example(means, accepted):
    assert spot_rule(spots(*means), 8, 12).accepted is accepted


def test_single_readings_do_not_matter_to_the_spot_rule():
    wild = [[2, 10, 18], *spots(10, 10, 10, 10)]
    assert spot_rule(wild, 8, 12).accepted


def test_the_spot_rule_needs_five_spots_of_three_readings():
    with pytest.raises(CraftError, match=r"spots.*count=5"):
        spot_rule(spots(70, 70), 60, 90)
    with pytest.raises(CraftError, match=r"readings.*count=3"):
        spot_rule([[70, 70], *spots(70, 70, 70, 70)], 60, 90)


@given(st.lists(st.floats(allow_nan=True, allow_infinity=True), max_size=8))
def test_no_readings_whatever_raise_anything_but_the_trades_own_error(values):
    try:
        verdict = quality_label(values, 60)
    except CraftError:
        return
    assert verdict.accepted == (verdict.mean >= 60 and verdict.lowest >= 48)


@pytest.mark.parametrize(
    ("percent", "astm"),
    # pslc.ws/ret2003/adtable.html, ASTM D3359 method B
    [(0, "5B"), (3, "4B"), (10, "3B"), (20, "2B"), (50, "1B"), (80, "0B")],
)
def test_the_flaked_area_gives_the_cross_cut_class(percent, astm):
    answer = adhesion_of_flaked(percent)
    assert answer.astm == astm
    # ISO 2409 counts the same steps the other way round
    assert answer.iso == 5 - int(astm[0])


def test_only_the_best_class_is_accepted():
    assert [adhesion(n).accepted for n in range(6)] == [True, False, False, False, False, False]
    with pytest.raises(CraftError):
        adhesion(6)
    with pytest.raises(CraftError):
        adhesion_of_flaked(101)


def test_cuts_are_spaced_by_the_film():
    # quality label for coated aluminium, 13th edition, 2.4.1 (businessdocbox.com)
    assert [cut_spacing_mm(um) for um in (60, 61, 120, 121)] == [1, 2, 2, 3]


def test_gloss_has_the_labels_tolerance():
    # ISO 2813 at 60°, categories of the quality label (vereniging-qualion.nl)
    assert [gloss_tolerance(gu) for gu in (0, 30, 31, 70, 71, 100)] == [5, 5, 7, 7, 10, 10]
    assert gloss(77, 70).accepted
    assert not gloss(78, 70).accepted
    assert gloss(95, 85).accepted
    with pytest.raises(CraftError):
        gloss_tolerance(101)
