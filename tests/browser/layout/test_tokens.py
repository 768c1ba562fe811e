"""Borders, rings and marks stand out from every ground by 3:1 (WCAG 1.4.11), in both themes.

Relative luminance and contrast as WCAG 2.2 defines them.
"""

import re

import pytest

from tests.house.files import HOUSE

GROUNDS = ("paper", "buff", "lit", "bench")
MARKS = ("line", "ink", "ember", "wrong", "go")
LEAST = 3.0


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def tokens(theme: str) -> dict[str, str]:
    text = (HOUSE / "static" / "css" / "tokens.css").read_text(encoding="utf-8")
    light, dark = text.split("@media (prefers-color-scheme: dark)")
    found = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", light))
    return (
        found
        if theme == "light"
        else found | dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", dark))
    )


def test_contrast_is_the_one_that_is_published() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    # the greys that just reach 4.5:1 and 3:1 on white
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)
    assert contrast("#949494", "#ffffff") == pytest.approx(3.03, abs=0.01)


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("ground", GROUNDS)
def test_what_marks_a_field_stands_out_from_its_ground(theme: str, ground: str) -> None:
    own = tokens(theme)
    faults = {
        mark: round(contrast(own[mark], own[ground]), 2)
        for mark in MARKS
        if contrast(own[mark], own[ground]) < LEAST
    }
    assert not faults
