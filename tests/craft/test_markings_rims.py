"""Rim markings: read as people write and cast them, written in one form, refused kindly."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.markings import bead_seat_mm, read_rim, usual_width, write_rim
from portal.craft.parts import Rim
from tests.readers import english

# Left: markings as written. The first six are everyday forms; `7.5Jx16H2 ET35`, `8Jx15H2`,
# `8Jx18x42.5` and `5.5Jx15 ET45 5*108x65` are cast on public examples; `4½J × 15` = `15 × 4½J`
# after tire-information-world.com/rim-and-tire-sizes.html; `15 × 6 J`, `13 × 5.50 B` are the
# examples of ISO 4000-2, clause 4.
READ = [
    ("8½J×18 H2 ET35", Rim(18, 8.5, "J", "H2", 35)),
    ("8.5J X 18H2 ET 35 5x112 66.6", Rim(18, 8.5, "J", "H2", 35, 5, 112, 66.6)),
    ("17x7.5 +53 5x114.3 CB56.1", Rim(17, 7.5, "J", "", 53, 5, 114.3, 56.1)),
    ("7 1/2 J x 17", Rim(17, 7.5)),
    ("7-1/2Jx17", Rim(17, 7.5)),
    ("6.5Jx16 IS45", Rim(16, 6.5, "J", "", 45)),
    ("7.5Jx16H2 ET35", Rim(16, 7.5, "J", "H2", 35)),
    ("8Jx15H2", Rim(15, 8, "J", "H2")),
    ("8Jx18x42.5", Rim(18, 8, "J", "", 42.5)),
    ("5.5Jx15 ET45 5*108x65", Rim(15, 5.5, "J", "", 45, 5, 108, 65)),
    ("4½J × 15", Rim(15, 4.5)),
    ("15 × 4½J", Rim(15, 4.5)),
    ("15 x 6 J", Rim(15, 6)),
    ("13 × 5.50 B", Rim(13, 5.5, "B")),
    ("15X6JJ", Rim(15, 6, "JJ")),
    ("8,5Jx19 ET 45 LK 5/112 ML 66,5", Rim(19, 8.5, "J", "", 45, 5, 112, 66.5)),
    ("7Jx17 EH2+ ET47,5", Rim(17, 7, "J", "EH2+", 47.5)),
    ("et35 8.5jx18 h2", Rim(18, 8.5, "J", "H2", 35)),
    ("7.5J-17", Rim(17, 7.5)),
    ("3.50x17 MT", Rim(17, 3.5, "MT")),
    ("22.5x8.25", Rim(22.5, 8.25, "")),
    ("6Jx15 H2 4x100 STEEL DOT T 04 98", Rim(15, 6, "J", "H2", None, 4, 100)),
    ("18x8.5J 3-piece 5x120.65 ET-12", Rim(18, 8.5, "J", "", -12, 5, 120.65)),
    # a number before a labelled offset is not the offset
    ("8Jx18 CB 66.6 ET 35", Rim(18, 8, "J", "", 35, bore_mm=66.6)),
    ("8Jx18 56.1 offset 48", Rim(18, 8, "J", "", 48, bore_mm=56.1)),
    ("17x7.5 PCD 114.3 OFFSET 45", Rim(17, 7.5, "J", "", 45, bolt_circle_mm=114.3)),
    ("17x7.5 PCD 114.346", Rim(17, 7.5, "J", "", bolt_circle_mm=114.35)),
    ("8Jx18 35 offset 66.6 bore", Rim(18, 8, "J", "", 35, bore_mm=66.6)),
    ("66.6 CB 35 ET 8Jx18", Rim(18, 8, "J", "", 35, bore_mm=66.6)),
    ("8Jx18 5x112 45 ET", Rim(18, 8, "J", "", 45, 5, 112)),
    # a width that was typed stays
    ("8/18", Rim(18, 8)),
    ("18 8.5", Rim(18, 8.5)),
    ("8.5R18", Rim(18, 8.5)),
    ("7.00T x 20", Rim(20, 7, "T")),
    # lorries: bolt circles 285.75 and 335, offsets of 160 to 175 on twin wheels (common practice)
    ("22.5 x 8.25 10x335 281 ET165", Rim(22.5, 8.25, "", "", 165, 10, 335, 281)),
    ("8.25-22.5 10x285.75 ET 175 CB220.1", Rim(22.5, 8.25, "", "", 175, 10, 285.75, 220.1)),
    ("11.75x22.5 ET120 10x335/281", Rim(22.5, 11.75, "", "", 120, 10, 335, 281)),
    ('10x285.75 / 11.75"x17.5"', Rim(17.5, 11.75, "", "", None, 10, 285.75)),
    ("ET 11 2Jx10 CB35", Rim(10, 2, "J", "", 11, bore_mm=35)),
    ("ET 18 7J 16 CB57.1", Rim(16, 7, "J", "", 18, bore_mm=57.1)),
    ("18 ET 7J 16", Rim(16, 7, "J", "", 18)),
    ("8Jx18 ET35 H2", Rim(18, 8, "J", "H2", 35)),
    ("EH2+ 5x112 8Jx18", Rim(18, 8, "J", "EH2+", None, 5, 112)),
    ("6.00GS-16 SDC", Rim(16, 6, "GS", "SDC")),
    # motorcycles; WM2 is 1.85 inches (from memory)
    ("17M/C x MT5.50", Rim(17, 5.5, "MT")),
    ("MT3.50 x 17M/C", Rim(17, 3.5, "MT")),
    ("18xWM2", Rim(18, 1.85, "WM")),
    # the labels of German and Spanish papers
    (
        "8Jx18 Einpresstiefe 35 Lochkreis 5x112 Mittenloch 66,6",
        Rim(18, 8, "J", "", 35, 5, 112, 66.6),
    ),
    ("8Jx18 bombeo 35 anclaje 5x112 buje 66,6", Rim(18, 8, "J", "", 35, 5, 112, 66.6)),
    ("8Jx18H2ET35,5x112,CB66.6", Rim(18, 8, "J", "H2", 35, 5, 112, 66.6)),
    # 4.5 and 5.5 inch bolt circles are 114.3 and 139.7 mm by arithmetic
    ('17"x8" 5x4.5"', Rim(17, 8, "J", "", None, 5, 114.3)),
    ("16x8 6x5.5", Rim(16, 8, "J", "", None, 6, 139.7)),
]


@pytest.mark.parametrize(("text", "rim"), READ)
def test_a_rim_marking_is_read_as_people_write_it(text, rim):
    assert read_rim(text).rim == rim


@pytest.mark.parametrize(("text", "rim"), READ)
def test_the_normal_form_of_a_rim_gives_the_same_rim(text, rim):
    assert read_rim(write_rim(rim)).rim == rim


def test_the_normal_form_reads_well():
    rim = read_rim("8.5J X 18H2 ET 35 5x112 66.6").rim
    assert write_rim(rim) == "8.5J×18 H2 ET35 5×112 CB66.6"


def test_what_was_understood_is_told():
    told = " / ".join(map(english, read_rim("8½J×18 H2 ET35 5x112").understood))
    assert "18 inches across" in told
    assert "offset 35 mm" in told
    assert "5 bolts on a 112 mm circle" in told


def test_a_rim_of_several_pieces_is_told():
    assert "made of several pieces" in map(english, read_rim("18x8.5J 3-piece").understood)


def test_a_bare_number_as_bore_is_told_as_assumed():
    assert any("66.6" in english(said) for said in read_rim("8.5Jx18 5x112 66.6").assumed)


def test_a_diameter_alone_gets_the_usual_width_and_says_so():
    answer = read_rim("17 inch")
    assert (answer.rim.diameter_code, answer.rim.width_code) == (17, usual_width(17))
    assert any("usual width" in english(said) for said in answer.assumed)


def test_two_bolt_circles_are_told():
    answer = read_rim("7x17 5x100/114.3")
    assert answer.rim.bolt_circle_mm == 100
    assert any("114.3" in english(said) for said in answer.assumed)


def test_backspacing_becomes_an_offset():
    # an 8-inch rim is about 9 inches overall; 4.5 inches behind the pad is the middle: offset 0
    # (common practice)
    assert read_rim("15x8 4.5 BS").rim.offset_mm == 0


@pytest.mark.parametrize(
    ("text", "rim", "question"),
    [
        ("8Jx18 35 offset 66.6", Rim(18, 8), "Is the offset 35 or 66.6?"),
        ("8Jx18 ET35 ET40", Rim(18, 8), "Is the offset 35 or 40?"),
        ("8Jx18 ET - 12", Rim(18, 8), "Is the offset -12 or 12?"),
        ("8Jx18 CB57.1 CB66.6", Rim(18, 8), "Is the centre bore 57.1 or 66.6?"),
        ("8Jx18 PCD112 PCD100", Rim(18, 8), "Is the bolt circle 112 or 100?"),
        (
            "8Jx18 5x112 45",
            Rim(18, 8, bolts=5, bolt_circle_mm=112),
            "ET45 if it is the offset, CB45",
        ),
        (
            "8Jx18 5x112 66.6 45",
            Rim(18, 8, bolts=5, bolt_circle_mm=112, bore_mm=66.6),
            "Write ET45 if it is the offset.",
        ),
        (
            "8Jx18 ET35 40",
            Rim(18, 8, offset_mm=35),
            "Write CB40 if it is the centre bore.",
        ),
    ],
)
def test_what_can_be_meant_in_two_ways_stays_open_and_is_asked(text, rim, question):
    answer = read_rim(text)
    assert answer.rim == rim
    (asked,) = answer.unsure
    assert question in english(asked)
    assert not any("didn't use" in english(said) for said in answer.assumed)


@pytest.mark.parametrize(
    "text", ["7.00Q x 20", "18 inch 4", "18 8.3", "18 x ?, 8.5 wide", "18 inch 1"]
)
def test_a_width_that_we_cannot_read_is_asked_for_never_guessed(text):
    answer = read_rim(text)
    assert answer.rim is None
    asked = "We read a diameter of {} inches, but not the width. Write both, such as 8J x 18."
    size = 20 if "20" in text else 18
    assert [english(said) for said in answer.impossible] == [asked.format(size)]


def test_two_sizes_are_two_sets():
    (wrong,) = read_rim("8Jx18 ET35, 9Jx19 ET40").impossible
    assert "We see two sizes" in english(wrong)


@pytest.mark.parametrize(
    ("text", "left"),
    [("8Jx18 KBA 43210", "KBA 43210"), ("8Jx18 5x112 66.6 57.1", "66.6 57.1")],
)
def test_what_was_left_over_is_named(text, left):
    assert f"We didn't use: {left}" in map(english, read_rim(text).assumed)


def test_words_that_mean_nothing_to_us_are_told_and_do_no_harm():
    assert "We didn't use: MADE SOMEWHERE" in map(english, read_rim("8Jx18 made somewhere").assumed)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("8.5Jx3", "3 inches is not a rim diameter"),
        ("3", "3 inches is not a rim diameter"),
        ("3 inch", "3 inches is not a rim diameter"),
        ("4000x8", "4,000 inches is not a rim diameter"),
        ("17x8.3", "8.3 inches is not a width"),
        ("17x0.5", "0.5 inches is not a width"),
        ("9.5Jx19 ET999", "999 mm"),
        ("8Jx18 5x112 CB150", "wider than the bolt circle"),
        ("8.5Jx1B", "“1B”"),
        ("8.5JxI8 ET35", "“I8”"),
        ("1B x 7.5", "“1B”"),
        ("8.5Jx18O", "“O”"),
        ("8Jx18 ET3S", "“S”"),
        ("8Jx18 ETS5", "“ETS5”"),
    ],
)
def test_an_impossible_rim_is_refused_in_plain_words(text, word):
    answer = read_rim(text)
    assert answer.rim is None
    assert any(word in english(said) for said in answer.impossible)
    assert answer.where


@pytest.mark.parametrize("text", ["", "   ", "🚗", "alloy", "five spokes", "5x112"])
def test_a_text_without_a_size_says_where_to_look(text):
    answer = read_rim(text)
    assert answer.rim is None
    assert "inside the rim" in english(answer.where)


@given(st.text(max_size=300))
def test_no_text_whatever_breaks_the_rim_reader(text):
    answer = read_rim(text)
    assert answer.rim is not None or answer.where


# the alphabet of markings finds more corners than all of Unicode
@given(st.text(alphabet='0123456789.,JXHETCB×x*½ /-+()"inchPCD', max_size=40))
def test_anything_understood_survives_its_normal_form(text):
    answer = read_rim(text)
    if answer.rim is not None:
        assert read_rim(write_rim(answer.rim)).rim == answer.rim


@pytest.mark.parametrize(
    ("code", "mm"),
    # the standard's specified rim diameters: from memory, see the note in data/rims.toml
    [(13, 329.4), (15, 380.2), (16, 405.6), (17, 436.6), (18, 462.0), (20, 512.8), (24, 614.4)],
)
def test_the_bead_seat_is_the_standards_not_inches_times_25_4(code, mm):
    assert bead_seat_mm(code) == pytest.approx(mm, abs=0.05)
    assert bead_seat_mm(code) != pytest.approx(code * 25.4, abs=0.5)
