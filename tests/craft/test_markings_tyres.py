"""Tyre markings: ISO 4000-1 / UN R30 form, older and light-truck forms; what they mean."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.markings import (
    measuring_rim,
    read_tyre,
    tyre_diameter_mm,
    write_tyre,
)
from portal.craft.parts import Tyre
from portal.craft.tables import csv_table
from portal.craft.tyre_sizes import rim_diameter_for_tyre_mm
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
    # lorries (UN R54), the older forms and motorcycles (UN R75); the letters of MT90 after
    # wcpmx.com, motorcycle tyre size chart
    (
        "11R22.5 148/145M",
        Tyre(22.5, None, None, load_index=148, dual_load_index=145, speed="M", width_in=11),
    ),
    (
        "315/80 R22.5 156/150L",
        Tyre(22.5, 315, 80, load_index=156, dual_load_index=150, speed="L"),
    ),
    (
        "295/80R22.5 152/148",
        Tyre(22.5, 295, 80, load_index=152, dual_load_index=148),
    ),
    ("10.00R20 16PR", Tyre(20, width_in=10)),
    ("445/65 R22.5 169K", Tyre(22.5, 445, 65, load_index=169, speed="K")),
    ("5.60-15", Tyre(15, construction="-", width_in=5.6)),
    ("6.50-16", Tyre(16, construction="-", width_in=6.5)),
    ("7.50 R 16 C 122/120L", Tyre(16, None, None, "R", "", "C", 122, 120, "L", width_in=7.5)),
    ("4.10-18 59P", Tyre(18, construction="-", load_index=59, speed="P", width_in=4.1)),
    ("3.00x19", Tyre(19, construction="-", width_in=3)),
    ("MT90B16", Tyre(16, 130, 90, "B", "MT")),
    ("MT90B16 M/C 74H", Tyre(16, 130, 90, "B", "MT", load_index=74, speed="H")),
    ("MU85HB-16", Tyre(16, 140, 85, "B", "MU", speed="H")),
    ("MH90-21 54H", Tyre(21, 80, 90, "-", "MH", load_index=54, speed="H")),
    (
        "HL245/40R19 104Y",
        Tyre(19, 245, 40, "R", "HL", load_index=104, speed="Y"),
    ),
    ("225/45RF17 94W", Tyre(17, 225, 45, load_index=94, speed="W")),
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


@pytest.mark.parametrize(
    ("text", "mm", "rim"),
    # UN R30 and R54 annex 5, from memory; the last by d + 2H with H = 95 % of 4.10 inches
    [("5.60-15", 650, 4), ("11R22.5", 1050, 8.25), ("10.00R20", 1052, 7.5), ("4.10-18", 655, 2.5)],
)
def test_a_tyre_whose_width_is_a_code_has_the_tabled_measures(text, mm, rim):
    tyre = read_tyre(text).tyre
    assert tyre_diameter_mm(tyre) == mm
    assert measuring_rim(tyre)[0] == rim


def test_a_code_without_a_tabled_size_says_what_height_was_taken():
    assert any("95 %" in english(one) for one in read_tyre("4.10-18 59P").assumed)
    assert not any("95 %" in english(one) for one in read_tyre("5.60-15").assumed)


def test_lettered_widths_and_pairs_are_told():
    said = read_tyre("MT90B16").assumed + read_tyre("11R22.5 148/145M").understood
    told = " / ".join(map(english, said))
    assert "The letters MT mean 130 mm wide." in told
    assert "3,150 kg" in told
    assert "up to 2,900 kg as one of a pair" in told


def test_a_flotation_size_carries_its_own_diameter():
    assert tyre_diameter_mm(read_tyre("31x10.50R15LT").tyre) == pytest.approx(31 * 25.4)
