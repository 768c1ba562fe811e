"""Film, adhesion and gloss: published worked examples decide."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.finishes import gloss_range_gu
from portal.craft.inspection import (
    Film,
    adhesion,
    check_spots,
    cut_spacing_mm,
    gloss,
    no_cross_cut,
    quality_label,
    spot_means,
    spot_rule,
    spots_needed,
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
    assert "mean is 58.2 µm" in english(quality_label([57, 60, 59, 62, 53], 60).says)


def test_exactly_eighty_percent_is_still_accepted():
    assert quality_label([48, 75, 75, 75, 75], 60).accepted


# whole µm, from the thinnest film that anybody orders to the thickest that a powder is sold for
MINIMA = range(30, 250)


@pytest.mark.parametrize("minimum", MINIMA)
def test_exactly_eighty_percent_of_any_minimum_is_accepted_and_a_tenth_less_is_not(minimum):
    floor = Decimal(minimum * 8) / 10
    others = [minimum * 1.1] * 4
    assert quality_label([float(floor), *others], minimum).film is Film.GOOD
    verdict = quality_label([float(floor - Decimal("0.1")), *others], minimum)
    assert verdict.film is Film.THIN
    assert f"{floor - Decimal('0.1'):f} µm".replace(".0 ", " ") in english(verdict.says)


@pytest.mark.parametrize("minimum", MINIMA)
def test_the_spot_rule_keeps_its_limits_to_the_tenth(minimum):
    high = minimum + 30
    low_spot, high_spot = minimum * 8 / 10, high * 12 / 10
    middle = (minimum + high) / 2
    for spot, film in (
        (low_spot, Film.GOOD),
        (round(low_spot - 0.1, 1), Film.THIN),
        (high_spot, Film.GOOD),
        (round(high_spot + 0.1, 1), Film.THICK),
    ):
        assert spot_rule([spot, *[middle] * 9], minimum, high).film is film


def test_what_was_compared_is_printed():
    verdict = quality_label([59.6] * 5, 60)
    assert verdict.film is Film.THIN
    assert english(verdict.says) == "Too thin: the mean is 59.6 µm, at least 60 µm is needed."
    # a mean of 59.96 is compared, and printed, as 60
    assert quality_label([59.9, 60, 60, 60, 59.9], 60).film is Film.GOOD


@given(st.lists(st.integers(1, 20000), min_size=5, max_size=15), st.integers(20, 300))
def test_the_label_agrees_with_exact_fractions(films, minimum):
    verdict = quality_label([film / 10 for film in films], minimum)
    mean = math.floor(Fraction(sum(films), len(films)) + Fraction(1, 2))
    lowest_ok = all(Fraction(film, 10) >= Fraction(4, 5) * minimum for film in films)
    assert (verdict.film is not Film.THIN) == (lowest_ok and mean >= 10 * minimum)
    assert (verdict.mean, verdict.lowest) == (mean / 10, min(films) / 10)


def test_a_film_above_the_powders_range_is_too_thick():
    # 400 µm where 60 to 90 was ordered
    assert quality_label([400.0] * 5, 60, 90).film is Film.THICK
    assert quality_label([90.0] * 5, 60, 90).film is Film.GOOD
    assert quality_label([108.0, 85, 85, 85, 85], 60, 90).film is Film.GOOD
    verdict = quality_label([108.1, 85, 85, 85, 85], 60, 90)
    assert english(verdict.says) == "Too thick: one spot is 108.1 µm, above 108 µm."


def test_a_spots_value_is_the_mean_of_its_readings():
    # the label, section 2.3, as remembered: three to five readings at each place
    assert spot_means([(59, 60, 60), (80.25, 80.25, 80.25)]) == (59.7, 80.3)
    check_spots([(80.0,) * 3, (80.0,) * 5, *[(80.0,) * 4] * 3], 5)


@pytest.mark.parametrize("count", [1, 2, 6])
def test_a_spot_has_three_to_five_readings(count):
    with pytest.raises(CraftError, match=r"Spot \{number\}.*number=2"):
        check_spots([(80.0,) * 3, (80.0,) * count, *[(80.0,) * 3] * 3], 5)


def test_fewer_than_five_spots_are_no_test():
    with pytest.raises(CraftError, match=r"needed=5"):
        check_spots([(80.0,) * 3] * 4, 5)


@pytest.mark.parametrize(
    ("area_m2", "spots"),
    # SSPC-PA 2, from memory: five spots an area of 10 m² (100 ft²) up to 30 m²; three such areas
    # for the first 100 m² (1000 ft²), one more for each further 100 m²
    [
        (0, 5), (1.2, 5), (10, 5), (10.1, 10), (30, 15), (30.1, 15), (100, 15), (101, 20),
        (200, 20), (201, 25),
    ],
)  # fmt: skip
def test_larger_parts_are_measured_at_more_spots(area_m2, spots):
    assert spots_needed(area_m2) == spots


def test_each_area_of_a_large_part_is_judged_by_its_own_mean():
    # 59 and 91 give 75 together, but neither area is within 60 to 90
    assert spot_rule([59.0] * 5 + [91.0] * 5, 60, 90).film is Film.THIN


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
    assert spot_rule(means, 8, 12).accepted is accepted


def test_a_spot_at_its_lowest_is_not_to_blame_where_another_is_too_thick():
    # 80 % of 60 are 48, 120 % of 90 are 108
    assert spot_rule([48.0, 75.0, 75.0, 75.0, 109.0], 60, 90).film is Film.THICK
    assert spot_rule([47.9, 75.0, 75.0, 75.0, 109.0], 60, 90).film is Film.THIN


def test_single_readings_do_not_matter_to_the_spot_rule():
    wild = [(2, 10, 18), *[(10, 10, 10)] * 4]
    assert spot_rule(spot_means(wild), 8, 12).accepted


@given(st.lists(st.lists(st.floats(allow_nan=True), max_size=6), max_size=8))
def test_no_readings_whatever_raise_anything_but_the_trades_own_error(spots):
    try:
        check_spots(spots, 5)
    except CraftError:
        return
    assert quality_label(spot_means(spots), 60, 90).film in Film


def test_only_the_best_class_is_accepted():
    assert [adhesion(n).accepted for n in range(6)] == [True, False, False, False, False, False]
    with pytest.raises(CraftError):
        adhesion(6)


@pytest.mark.parametrize("astm", ["5B", "4B", "3B", "2B", "1B", "0B"])
def test_the_classes_are_those_of_the_other_standard_turned_round(astm):
    # pslc.ws/ret2003/adtable.html, ASTM D3359 method B
    assert adhesion(5 - int(astm[0])).astm == astm


@pytest.mark.parametrize(
    ("film_um", "textured", "covered"),
    # the scope of ISO 2409 as quoted by AFNOR and globalspec: not above 250 µm, no textured coats
    [(60, False, True), (250, False, True), (250.1, False, False), (60, True, False)],
)
def test_the_cross_cut_test_has_its_limits(film_um, textured, covered):
    assert (no_cross_cut(film_um, textured=textured) is None) is covered


def test_cuts_are_spaced_by_the_film():
    # quality label for coated aluminium, 13th edition, 2.4.1 (businessdocbox.com)
    assert [cut_spacing_mm(um) for um in (60, 61, 120, 121)] == [1, 2, 2, 3]


@pytest.mark.parametrize(
    ("reading", "nominal", "accepted"),
    # ISO 2813 at 60°, tolerances of the quality label (vereniging-qualion.nl)
    [(77, 70, True), (78, 70, False), (95, 85, True), (96, 85, False), (0, 3, True)],
)
def test_gloss_is_judged_by_the_labels_tolerance(reading, nominal, accepted):
    assert gloss(reading, *gloss_range_gu(nominal)).accepted is accepted


@pytest.mark.parametrize(
    ("spots", "says", "field"),
    [
        (
            [(80.0,) * 3] * 4,
            "Measure 5 spots, 3 to 5 readings at each. You have measured 4.",
            "",
        ),
        (
            [(80.0,) * 3, (80.0,) * 2, *[(80.0,) * 3] * 3],
            "Spot 2 has 2 readings. Take 3 to 5 at each spot.",
            "",
        ),
        (
            [(80.0, -1.0, 80.0)] * 5,
            "Enter a film thickness from 0 to 2,000 µm.",
            "readings_um",
        ),
    ],
)
def test_what_is_wrong_with_the_readings_is_said_with_its_figures(spots, says, field):
    with pytest.raises(CraftError) as raised:
        check_spots(spots, 5)
    assert english(raised.value.sentence) == says
    assert raised.value.key == field
