"""Codes that people read out and type."""

import random
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from portal.shop.codes import (
    ALPHABET,
    BASE32,
    CodeReading,
    new_code,
    new_token,
    pick,
    read_code,
    shown,
)

BYTES = random.Random(7).randbytes
CODES = [new_code(BYTES) for _ in range(300)]

# published worked examples of ISO/IEC 7064 MOD 37,36 (the music industry's release identifier
# and a public page of the algorithm); each was recomputed by hand
PUBLISHED = [("A12425GABC1234002", "M"), ("123AB", "X"), ("DADPIDA3897722461", "J")]


def by_hand(body: str) -> str:
    """The standard's recursion, written out: P = 36; S = (P + a) mod 36 or 36; P = 2S mod 37."""
    alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    p = 36
    for character in body:
        p = (((p + alphabet.index(character)) % 36 or 36) * 2) % 37
    return alphabet[(37 - p) % 36]


@pytest.mark.parametrize(("body", "check"), PUBLISHED)
def test_the_check_character_is_the_published_one(body: str, check: str) -> None:
    assert mod_37_36.calc_check_digit(body) == check == by_hand(body)


def test_every_code_carries_the_standards_check_character() -> None:
    for code in CODES:
        assert by_hand(code[:-1]) == code[-1]
        assert set(code) <= set(ALPHABET)
        assert read_code(code) == (CodeReading.CODE, code)


def test_the_alphabet_has_no_look_alikes() -> None:
    for twins in ("0OQ", "1IL", "2Z", "5S", "6G", "8B", "UV"):
        assert len(set(twins) & set(ALPHABET)) <= 1


def test_every_wrong_character_and_every_swap_of_neighbours_is_noticed() -> None:
    for code in CODES[:60]:
        for place in range(len(code)):
            for other in ALPHABET.replace(code[place], ""):
                wrong = code[:place] + other + code[place + 1 :]
                assert read_code(wrong)[0] is not CodeReading.CODE
        for place in range(len(code) - 1):
            swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
            assert swapped == code or read_code(swapped)[0] is not CodeReading.CODE


def test_a_code_is_read_in_any_case_with_any_separators_and_with_known_twins() -> None:
    code = next(c for c in CODES if "2" in c and "V" in c)
    typed = f"  {shown(code).lower().replace('2', 'z').replace('v', 'u').replace('-', ' ')} "
    assert read_code(typed) == (CodeReading.CODE, code)


def test_a_mistyped_code_is_told_apart_from_what_never_was_one() -> None:
    code = CODES[0]
    other = "4" if code[2] != "4" else "7"
    assert read_code(code[:2] + other + code[3:])[0] is CodeReading.MISTYPED
    for never in ("Anderson", "01632960", "Fern Hill", "T0417", "", "🙂"):
        assert read_code(never)[0] is CodeReading.NOT_A_CODE


@given(st.text(max_size=40))
def test_any_text_gets_an_answer(text: str) -> None:
    assert read_code(text)[0] in CodeReading


def test_a_token_has_130_random_bits_in_qr_alphanumeric_characters() -> None:
    token = new_token(BYTES)
    assert len(token) == 26
    assert set(token) <= set(BASE32) <= set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")


def test_characters_are_drawn_evenly() -> None:
    counts = Counter(pick(ALPHABET, 46_000, BYTES))
    # 2,000 each expected; four standard deviations of a binomial are about 175
    assert all(1_825 < counts[ch] < 2_175 for ch in ALPHABET)


def test_what_is_rejected_is_drawn_again_and_nothing_drawn_is_lost() -> None:
    """Of a byte's 256 values 252 are taken for three characters of 36 each: the rest is unfair."""
    drawn = iter([b"\xff" * 5 + b"\x00", b"\xff" * 5 + b"\x01", bytes([37, 251] + [0] * 4)])
    alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    assert pick(alphabet, 3, lambda count: next(drawn)[:count]) == "011"
