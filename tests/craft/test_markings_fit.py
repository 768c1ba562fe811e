"""What the figures of a tyre mean, and which rims it belongs on."""

import math
from dataclasses import replace

import pytest

from portal.craft.markings import (
    load_kg,
    measuring_rim,
    read_rim,
    read_tyre,
    rim_from_tyre,
    speed_kmh,
    tyre_on_rim,
)
from portal.craft.messages import CraftError
from portal.craft.parts import Rim, Tyre
from portal.craft.tables import toml_table
from tests.readers import english


@pytest.mark.parametrize(
    ("index", "kg", "pounds"),
    # wheelzine.com/tire-ratings-speed-rating-load-index (lb); barretire.com tiresizes (both)
    # 142, 165, 168: a tractor's handbook on easymanua.ls; lb by arithmetic
    [
        (142, 2650, 5842),
        (165, 5150, 11354),
        (168, 5600, 12346),
        (71, 345, 761),
        (80, 450, 992),
        (91, 615, 1356),
        (94, 670, 1477),
        (100, 800, 1764),
    ],
)
def test_a_load_index_is_a_load(index, kg, pounds):
    assert load_kg(index) == kg
    assert load_kg(index) / 0.45359237 == pytest.approx(pounds, abs=1)


# boosttown.com, tyre load index (0 to 119; it misprints 62 as 165)
PUBLISHED = """45 46.2 47.5 48.7 50 51.5 53 54.5 56 58 60 61.5 63 65 67 69 71 73 75 77.5
80 82.5 85 87.5 90 92.5 95 97.5 100 103 106 109 112 115 118 121 125 128 132 136
140 145 150 155 160 165 170 175 180 185 190 195 200 206 212 218 224 230 236 243
250 257 265 272 280 290 300 307 315 325 335 345 355 365 375 387 400 412 425 437
450 462 475 487 500 515 530 545 560 580 600 615 630 650 670 690 710 730 750 775
800 825 850 875 900 925 950 975 1000 1030 1060 1090 1120 1150 1180 1215 1250 1285 1320 1360"""


def test_every_published_load_index_is_kept():
    for index, kg in enumerate(PUBLISHED.split()):
        assert load_kg(index) == float(kg), index


def test_the_loads_beyond_are_the_series_ten_times_over():
    # eighty steps are ten times the load: 257 kg is 257.5, written without its half
    for index in range(120, 180):
        tenth = load_kg(index - 80)
        half = 5 if tenth > 250 and tenth % 10 in (2, 7) else 0
        assert load_kg(index) == tenth * 10 + half, index


def test_the_load_table_grows_as_the_standards_series_does():
    # ten times in eighty steps from 80 kg at index 20: the rounding never moves it by 2.1 %
    for index in range(180):
        assert load_kg(index) == pytest.approx(80 * math.pow(10, (index - 20) / 80), rel=0.021)


# UN R30 and R54: Q T H V W Y after a vehicle handbook, N to Y after public copies, the rest and
# those in brackets from memory
SPEEDS = """B 50 C 60 D 65 E 70 F 80 G 90 J 100 K 110 L 120 M 130 N 140 P 150 Q 160 R 170 S 180
T 190 U 200 H 210 V 240 W 270 Y 300 (V) 240 (W) 270 (Y) 300 ZR 240"""


def test_every_speed_symbol_is_its_speed_and_there_are_no_others():
    words = SPEEDS.split()
    told = dict(zip(words[::2], map(int, words[1::2]), strict=True))
    assert toml_table("tyres.toml")["speed_kmh"] == told
    assert {symbol: speed_kmh(symbol) for symbol in told} == told


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


def test_a_tyre_marked_with_its_height_is_not_looked_up_among_those_without():
    without = Tyre(15.0, width_in=8.2)
    assert measuring_rim(without)[0] == 6
    assert measuring_rim(replace(without, overall_in=30.0))[0] == 6.5


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
