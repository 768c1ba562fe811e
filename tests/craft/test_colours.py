"""Colours against published pairs, published hex values and an independent library."""

import re
from pathlib import Path

import pytest
from coloraide import Color
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.colours import (
    delta_e00,
    difference_says,
    hex_of_lab,
    lab_of_hex,
    lab_of_ral,
    nearest,
    ral_number,
)
from portal.craft.messages import CraftError
from portal.craft.parts import Effect, Powder
from portal.craft.tables import csv_table
from tests.craft.shelf import SHELF
from tests.readers import english

PAIRS = [
    tuple(float(number) for number in line.split())
    for line in Path(__file__).with_name("ciede2000_pairs.txt").read_text().splitlines()
    if not line.startswith("#")
]


def test_all_34_published_pairs_are_there():
    assert len(PAIRS) == 34


@pytest.mark.parametrize("pair", PAIRS)
def test_the_difference_of_each_published_pair_is_met_both_ways(pair):
    first, second, published = pair[:3], pair[3:6], pair[6]
    assert delta_e00(first, second) == pytest.approx(published, abs=5e-5 + 1e-9)
    assert delta_e00(second, first) == pytest.approx(published, abs=5e-5 + 1e-9)


def test_the_plain_distance_would_not_pass_for_the_published_one():
    first, second, published = PAIRS[0][:3], PAIRS[0][3:6], PAIRS[0][6]
    plain = sum((a - b) ** 2 for a, b in zip(first, second, strict=True)) ** 0.5
    assert plain != pytest.approx(published, abs=0.1)


# rgb.to's table as kept by a public component library (TestudoSrl/tst-components, colors.tsx)
PUBLISHED = """1000 CDBA88  1003 F9A800  1013 E3D9C6  1021 F6B600  2004 E25303  3000 A72920
3020 BB1E10  4006 903373  5010 004F7C  5015 007CB0  6005 114232  6016 00694C  6018 61993B
7016 383E42  7024 45494E  7035 C5C7C4  8017 442F29  9003 ECECE7  9005 0E0E10  9006 A1A1A0
9007 878581  9010 F1ECE1  9011 27292B  9016 F1F0EA"""
SCREENS = dict(re.findall(r"(\d{4}) (\w{6})", PUBLISHED))


def test_every_kept_ral_value_gives_the_published_screen_value():
    assert {row["number"] for row in csv_table("ral.csv")} == SCREENS.keys()
    for number, published in SCREENS.items():
        ours = bytes.fromhex(hex_of_lab(lab_of_ral(number))[1:])
        # the table rounds down now and then
        apart = max(abs(a - b) for a, b in zip(ours, bytes.fromhex(published), strict=True))
        assert apart <= 1, number


def test_a_ral_number_is_read_as_people_write_it():
    assert ral_number(" ral 7016 ") == ral_number("RAL-7016") == ral_number("7016") == "7016"


@pytest.mark.parametrize("text", ["", "RAL", "701", "70166", "RAL 0123", "٧٠١٦", "RAL 7016 x"])
def test_what_is_no_ral_number_is_told_so(text):
    with pytest.raises(CraftError, match="four digits"):
        ral_number(text)


def test_a_ral_number_whose_value_is_not_kept_points_to_a_way_on():
    with pytest.raises(CraftError, match="decide from a sample"):
        lab_of_ral("RAL 6034")


def test_every_kept_ral_value_is_a_colour_a_screen_can_nearly_show():
    for row in csv_table("ral.csv"):
        lab = lab_of_ral(row["number"])
        # 3.2 for rape yellow: the most saturated ones lie outside what a screen shows
        assert delta_e00(lab, lab_of_hex(hex_of_lab(lab))) < 4, row["name"]


@given(st.integers(0, 0xFFFFFF))
def test_screen_values_agree_with_an_independent_library_and_come_back_unchanged(number):
    code = f"#{number:06X}"
    lab = lab_of_hex(code)
    theirs = Color(code).convert("lab-d65").coords()
    assert lab == pytest.approx(theirs, abs=0.03)
    assert hex_of_lab(lab) == code


# CSS Color 4: what lies beyond white, black or the screen's colours is clipped
@pytest.mark.parametrize(
    ("lab", "code"),
    [
        ((100, 0, 0), "#FFFFFF"),
        ((120, 0, 0), "#FFFFFF"),
        ((0, 0, 0), "#000000"),
        ((-9, 0, 0), "#000000"),
    ],
)
def test_what_a_screen_cannot_show_is_clipped(lab, code):
    assert hex_of_lab(lab) == code


LABS = st.tuples(st.floats(0, 100), st.floats(-130, 130), st.floats(-130, 130))


@given(LABS)
def test_every_colour_has_a_screen_value(lab):
    assert re.fullmatch("#[0-9A-F]{6}", hex_of_lab(lab))


@given(st.text(max_size=12) | st.text("0aF#", max_size=7))
def test_any_text_is_a_screen_value_or_a_kind_error(text):
    digits = text.strip().removeprefix("#")
    if len(digits) in (3, 6) and set(digits) <= set("0123456789abcdefABCDEF"):
        assert 0 <= lab_of_hex(text)[0] <= 100.001
        return
    with pytest.raises(CraftError, match="#383E42") as caught:
        lab_of_hex(text)
    assert caught.value.key == "colour"


def test_a_short_screen_value_means_doubled_digits():
    assert lab_of_hex("#abc") == lab_of_hex("AABBCC")


def test_the_nearest_powder_comes_first_and_a_clear_coat_never():
    near = nearest(lab_of_hex("#8B1A1A"), SHELF.values(), 3)
    assert near[0].powder.code in {"RED", "CANDY"}
    assert [n.delta for n in near] == sorted(n.delta for n in near)
    assert len(near) == 3
    everything = nearest((92, 0, 0), SHELF.values(), 99)
    assert all(n.powder.effect is not Effect.CLEAR for n in everything)


def test_the_same_screen_value_is_told_as_nearest_but_not_as_the_same():
    grey = Powder("GREY", "Grey", lab_of_ral("7016"), 45)
    same, other = nearest(lab_of_ral("7016"), [grey, SHELF["RED"]], 2)
    assert same.delta == pytest.approx(0, abs=1e-9)
    assert english(same.says) == "As near as a screen can tell: compare a sample"
    assert english(other.says) == "A different colour"


# eight bits a channel: two values turned back from one hex value can be told apart by instruments
def test_values_turned_back_from_a_screen_never_claim_that_no_difference_is_seen():
    shown = lab_of_ral("7016")
    turned_back = lab_of_hex(hex_of_lab(shown))
    assert 0 < delta_e00(shown, turned_back) < 1
    for step in range(200):
        said = english(difference_says(step / 10)).casefold()
        assert not any(claim in said for claim in ("no difference", "won't see", "identical"))


def test_a_difference_on_a_step_is_called_by_the_greater_word():
    for step in (1.0, 2.0, 3.5, 5.0, 10.0):
        assert difference_says(step) == difference_says(step + 0.01)
        assert difference_says(step) != difference_says(step - 0.01)


def test_a_greater_difference_never_sounds_smaller():
    words = [difference_says(step / 4) for step in range(60)]
    assert len(dict.fromkeys(words)) == 6
    assert words == sorted(words, key=list(dict.fromkeys(words)).index)
