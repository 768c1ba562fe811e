"""Tyre markings: ISO 4000-1 / UN R30 form, older and light-truck forms; what they mean."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.markings import (
    load_kg,
    measuring_rim,
    read_rim,
    read_tyre,
    rim_from_tyre,
    speed_kmh,
    tyre_diameter_mm,
    tyre_on_rim,
    write_tyre,
)
from portal.craft.messages import CraftError
from portal.craft.parts import Rim, Tyre
from portal.craft.tables import csv_table
from portal.craft.tyres import rim_diameter_for_tyre_mm
from tests.readers import english

READ = [
    ("225/45 R17 94W", Tyre(17, 225, 45, load_index=94, speed="W")),
    (
        "P225/45ZR17 (94Y) XL",
        Tyre(17, 225, 45, "ZR", "P", load_index=94, speed="(Y)", extra_load=True),
    ),
    (
        "LT265/70R17 121/118S",
        Tyre(17, 265, 70, "R", "LT", load_index=121, dual_load_index=118, speed="S"),
    ),
    ("31x10.50R15LT", Tyre(15, construction="R", suffix="LT", overall_in=31, width_in=10.5)),
    (
        "195 R14C 106/104R",
        Tyre(14, 195, 82, "R", "", "C", load_index=106, dual_load_index=104, speed="R"),
    ),
    ("T125/70D17 98M", Tyre(17, 125, 70, "D", "T", load_index=98, speed="M")),
    ("165SR13", Tyre(13, 165, 82, speed="S")),
    ("205/70HR15", Tyre(15, 205, 70, speed="H")),
    ("130/90-16 73H", Tyre(16, 130, 90, "-", load_index=73, speed="H")),
    ("120/70 ZR17 M/C (58W)", Tyre(17, 120, 70, "ZR", load_index=58, speed="(W)")),
    ("225/45/17", Tyre(17, 225, 45)),
    ("225 45 17", Tyre(17, 225, 45)),
    ("225/45r17 94w m+s", Tyre(17, 225, 45, load_index=94, speed="W")),
    (
        "235/40ZR18 95Y EXTRA LOAD DOT 2319",
        Tyre(18, 235, 40, "ZR", load_index=95, speed="Y", extra_load=True),
    ),
]


@pytest.mark.parametrize(("text", "tyre"), READ)
def test_a_tyre_marking_is_read_as_it_stands_on_the_sidewall(text, tyre):
    assert read_tyre(text).tyre == tyre


@pytest.mark.parametrize(("text", "tyre"), READ)
def test_the_normal_form_of_a_tyre_gives_the_same_tyre(text, tyre):
    assert read_tyre(write_tyre(tyre)).tyre == tyre


def test_the_normal_form_reads_well():
    assert write_tyre(read_tyre("P225/45ZR17 (94Y) XL").tyre) == "P225/45 ZR17 (94Y) XL"
    assert write_tyre(read_tyre("195R14C 106/104R").tyre) == "195 R14C 106/104R"


def test_what_was_understood_is_told():
    told = " / ".join(map(english, read_tyre("225/45 R17 94W").understood))
    assert "225 mm wide" in told
    assert "634 mm" in told
    assert "670 kg" in told
    assert "270 km/h" in told


def test_the_older_form_says_that_its_height_was_assumed():
    assert any("82 %" in english(said) for said in read_tyre("245 R16C 106/104R").assumed)


# UN R30 annex 5, metric radial series (from memory)
@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("155R13", 578),
        ("165 R13", 596),
        ("165 SR13", 596),
        ("175R14C 99/98N", 634),
        ("185R14", 650),
    ],
)
def test_a_tyre_without_a_height_has_the_size_of_the_standards_table(text, mm):
    read = read_tyre(text)
    assert tyre_diameter_mm(read.tyre) == mm
    said = " / ".join(map(english, (*read.understood, *read.assumed)))
    assert "82 %" not in said
    assert "full profile" in said


# the table, whatever its source, describes tyres: 77 to 83 % of the width high
def test_the_tabled_heights_are_those_of_full_profile_tyres():
    for row in csv_table("full_profile.csv"):
        rim = rim_diameter_for_tyre_mm(float(row["rim"]))
        share = (int(row["mm"]) - rim) / 2 / int(row["width"])
        assert 0.77 <= share <= 0.83, row


def test_a_wider_tyre_of_the_table_on_the_same_rim_is_taller():
    rows = [(float(r["rim"]), int(r["width"]), int(r["mm"])) for r in csv_table("full_profile.csv")]
    assert rows == sorted(rows)
    for (rim, _width, low), (same, _wider, high) in pairwise(rows):
        assert rim != same or low < high


# a vehicle handbook's tyre pages: in brackets the tyre is for more than 300 km/h; UN R75 has the
# same for V and W (from memory)
@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("225/45 ZR17 (94W)", "for more than 270 km/h"),
        ("225/45 ZR17 94(W)", "for more than 270 km/h"),
        ("120/70 ZR17 M/C (58V)", "for more than 240 km/h"),
        ("255/35 ZR19 (96Y) XL", "for more than 300 km/h"),
        ("225/45 R17 94W", "up to 270 km/h"),
        ("205/55 R16 (91H)", "up to 210 km/h"),
    ],
)
def test_a_fast_symbol_in_brackets_is_for_more_than_its_speed(text, says):
    assert says in map(english, read_tyre(text).understood)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("225/45R3", "3 inches"),
        ("225/45R11.7", "11.7 inches"),
        ("226/45R17", "end in 0 or 5"),
        ("225/47R17", "steps of 5"),
        ("925/45R17", "925 mm wide"),
        ("225/45R17 999W", "load index 999"),
        ("225/45R17 94I", "” is not a speed rating. Use the letter after"),
        ("22S/45R17 94W", "“22S”"),
        ("225/4SR17", "“4S”"),
        ("225/45R17O", "“O”"),
        ("14x10R15", "smaller than its rim"),
    ],
)
def test_an_impossible_tyre_is_refused_in_plain_words(text, word):
    answer = read_tyre(text)
    assert answer.tyre is None
    assert any(word in english(said) for said in answer.impossible)
    assert "side of the tyre" in english(answer.where)


@pytest.mark.parametrize("text", ["", "black ones", "🛞", "225"])
def test_a_text_without_a_size_says_where_to_look(text):
    answer = read_tyre(text)
    assert answer.tyre is None
    assert "side of the tyre" in english(answer.where)


@given(st.text(max_size=300))
def test_no_text_whatever_breaks_the_tyre_reader(text):
    answer = read_tyre(text)
    assert answer.tyre is not None or answer.where


@given(st.text(alphabet="0123456789./ -RZDPLTCXxSHVWY()M+", max_size=30))
def test_anything_understood_survives_its_normal_form(text):
    answer = read_tyre(text)
    if answer.tyre is not None:
        assert read_tyre(write_tyre(answer.tyre)).tyre == answer.tyre


tyres = st.builds(
    Tyre,
    rim_code=st.sampled_from([12, 13, 14, 15, 16, 17, 18, 19, 20, 22.5]),
    width_mm=st.integers(21, 70).map(lambda fives: fives * 5.0),
    aspect=st.integers(5, 18).map(lambda fives: fives * 5.0) | st.just(82.0),
    construction=st.sampled_from(["R", "ZR", "D", "-"]),
    prefix=st.sampled_from(["", "P", "LT", "T"]),
    suffix=st.sampled_from(["", "C", "LT"]),
    load_index=st.integers(60, 130),
    dual_load_index=st.none() | st.integers(60, 130),
    speed=st.sampled_from(["", "Q", "S", "T", "H", "V", "W", "Y", "(V)", "(W)", "(Y)"]),
    extra_load=st.booleans(),
)


@given(tyres)
def test_writing_and_reading_a_tyre_is_lossless(tyre):
    # a bias-ply tyre of the full profile is written 165-13; D stands only behind an aspect
    if tyre.aspect != 82 or tyre.construction != "D":
        assert read_tyre(write_tyre(tyre)).tyre == tyre


@pytest.mark.parametrize(
    ("text", "mm"),
    # superglobalcalculator.com/units/tire-size/converter: 632, 634, 645, 703; the last three
    # by UN R30's D = d + 2H, computed by hand
    [
        ("205/55R16", 632),
        ("225/45R17", 634),
        ("235/40R18", 645),
        ("245/45R19", 703),
        ("195/65R15", 635),
        ("225/40R18", 637),
        ("255/35R19", 661),
    ],
)
def test_the_overall_diameter_agrees_with_published_tables(text, mm):
    assert tyre_diameter_mm(read_tyre(text).tyre) == mm


def test_a_flotation_size_carries_its_own_diameter():
    assert tyre_diameter_mm(read_tyre("31x10.50R15LT").tyre) == pytest.approx(31 * 25.4)


@pytest.mark.parametrize(
    ("index", "kg", "pounds"),
    # wheelzine.com/tire-ratings-speed-rating-load-index (lb); barretire.com tiresizes (both)
    [(71, 345, 761), (80, 450, 992), (91, 615, 1356), (94, 670, 1477), (100, 800, 1764)],
)
def test_a_load_index_is_a_load(index, kg, pounds):
    assert load_kg(index) == kg
    assert load_kg(index) / 0.45359237 == pytest.approx(pounds, abs=1)


def test_the_load_table_grows_as_the_standards_series_does():
    # ten times in eighty steps from 80 kg at index 20: the rounding never moves it by 2.1 %
    for index in range(40, 151):
        assert load_kg(index) == pytest.approx(80 * math.pow(10, (index - 20) / 80), rel=0.021)


@pytest.mark.parametrize(
    ("symbol", "kmh"),
    # UN R30 table as in a vehicle handbook (Q T H V W Y) and public copies
    [
        ("Q", 160),
        ("R", 170),
        ("S", 180),
        ("T", 190),
        ("H", 210),
        ("V", 240),
        ("W", 270),
        ("Y", 300),
    ],
)
def test_a_speed_symbol_is_a_speed(symbol, kmh):
    assert speed_kmh(symbol) == kmh


def test_unknown_index_and_symbol_are_refused_by_the_trade():
    with pytest.raises(CraftError, match="load index"):
        load_kg(999)
    with pytest.raises(CraftError, match=r"” is not a speed rating\. Use the letter after"):
        speed_kmh("I")


@pytest.mark.parametrize(
    ("text", "inches"),
    # T&RA measuring rims as quoted on a retailer's technical page; 235/45R17 after
    # tyresizecalculator.com/wheels/what-is-the-measuring-rim-width; the last three ETRTO, from
    # memory
    [
        ("P175/75R14", 5.0),
        ("P195/75R15", 5.5),
        ("P215/75R15", 6.0),
        ("P235/75R15", 6.5),
        ("P225/75R15", 6.0),
        ("P225/65R16", 6.5),
        ("P225/60R15", 6.5),
        ("P225/55R15", 7.0),
        ("P225/50R15", 7.0),
        ("P225/45R17", 7.5),
        ("P225/40R18", 8.0),
        ("235/45R17", 8.0),
        ("195/65R15", 6.0),
        ("205/55R16", 6.5),
        ("255/35R19", 9.0),
    ],
)
def test_the_measuring_rim_agrees_with_the_published_one(text, inches):
    tyre = read_tyre(text).tyre
    assert measuring_rim(tyre)[0] == inches
    assert rim_from_tyre(tyre) == Rim(tyre.rim_code, inches)


@pytest.mark.parametrize(
    ("text", "narrow", "wide"),
    # approved rim widths after ETRTO, from memory
    [
        ("195/65R15", 5.5, 7.0),
        ("205/55R16", 5.5, 7.5),
        ("225/45R17", 7.0, 8.5),
        ("225/40R18", 7.5, 9.0),
        ("235/40R18", 8.0, 9.5),
        ("255/35R19", 8.5, 10.0),
    ],
)
def test_a_tyre_belongs_on_its_approved_rims_and_not_on_others(text, narrow, wide):
    tyre = read_tyre(text).tyre
    for width, belongs in (
        (narrow, True),
        (wide, True),
        (narrow - 1.5, False),
        (wide + 1.5, False),
    ):
        assert tyre_on_rim(tyre, Rim(tyre.rim_code, width)).belongs is belongs


def test_a_rim_just_outside_the_usual_is_left_to_the_tyre_maker():
    answer = tyre_on_rim(read_tyre("225/45R17").tyre, read_rim("9Jx17").rim)
    assert answer.belongs is None
    assert "tyre maker" in english(answer.says)


def test_a_tyre_of_another_diameter_fits_no_way():
    answer = tyre_on_rim(read_tyre("225/45R17").tyre, read_rim("8Jx18").rim)
    assert answer.belongs is False
    assert "17-inch" in english(answer.says)
