"""Colours as CIELAB: to and from a screen's hex value, RAL numbers, and the nearest powder.

All CIELAB values are for D65 and the 2° observer. A screen value is an approximation: no hex
value is a colour sample.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from typing import Any

from portal.craft.messages import CraftError, Message
from portal.craft.parts import Effect, Powder
from portal.craft.tables import csv_table

Lab = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Near:
    """A powder beside a wanted colour: the CIEDE2000 difference and how visible it is."""

    powder: Powder
    delta: float
    says: Message


# CIE 15 and IEC 61966-2-1 (sRGB): white point D65, and the matrix between XYZ and linear RGB
WHITE = (0.95047, 1.0, 1.08883)
_TO_XYZ = (
    (0.4124564, 0.3575761, 0.1804375),
    (0.2126729, 0.7151522, 0.0721750),
    (0.0193339, 0.1191920, 0.9503041),
)
_TO_RGB = (
    (3.2404542, -1.5371385, -0.4985314),
    (-0.9692660, 1.8760108, 0.0415560),
    (0.0556434, -0.2040259, 1.0572252),
)
_EPSILON = 216 / 24389
_KAPPA = 24389 / 27

_HEX = re.compile(r"#?([0-9a-fA-F]{6}|[0-9a-fA-F]{3})\Z")
_RAL = re.compile(r"\s*(?:RAL)?[\s\-]*([1-9][0-9]{3})\s*\Z", re.IGNORECASE | re.ASCII)

# no words for "no difference": a wanted colour comes from a screen, and so do the RAL values here
_WORDS: tuple[tuple[float, Message], ...] = (
    (1.0, Message("As near as a screen can tell: compare a sample")),
    (2.0, Message("Almost the same: a trained eye sees the difference")),
    (3.5, Message("Close: you see a small difference side by side")),
    (5.0, Message("A clear difference, but it may do on its own")),
    (10.0, Message("A different shade of a similar colour")),
)
_FAR = Message("A different colour")


def lab_of_hex(text: str) -> Lab:
    """Return the CIELAB of an sRGB value such as `#383E42`; raise CraftError for anything else."""
    match = _HEX.match(text.strip())
    if match is None:
        raise CraftError(
            Message("Enter a RAL number such as 7016, or a colour value such as #383E42."),
            key="colour",
        )
    digits = match[1] if len(match[1]) == 6 else "".join(ch * 2 for ch in match[1])
    linear = [_linear(int(digits[i : i + 2], 16) / 255) for i in (0, 2, 4)]
    x, y, z = (_cube(_dot(row, linear) / white) for row, white in zip(_TO_XYZ, WHITE, strict=True))
    return (116 * y - 16, 500 * (x - y), 200 * (y - z))


def hex_of_lab(lab: Lab) -> str:
    """Return the nearest sRGB value, upper case; what a screen can't show is clipped."""
    lightness, a, b = lab
    y = (lightness + 16) / 116
    xyz = [
        _uncube(value) * white
        for value, white in zip((y + a / 500, y, y - b / 200), WHITE, strict=True)
    ]
    channels = (_encoded(_dot(row, xyz)) for row in _TO_RGB)
    return "#" + "".join(f"{round(255 * min(max(value, 0.0), 1.0)):02X}" for value in channels)


def _dot(row: Iterable[float], column: Iterable[float]) -> float:
    return sum(left * right for left, right in zip(row, column, strict=True))


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def _encoded(value: float) -> float:
    return 12.92 * value if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055


def _cube(value: float) -> float:
    return value ** (1 / 3) if value > _EPSILON else (_KAPPA * value + 16) / 116


def _uncube(value: float) -> float:
    return value**3 if value**3 > _EPSILON else (116 * value - 16) / _KAPPA


@cache
def _rals() -> dict[str, tuple[str, Lab]]:
    return {
        row["number"]: (row["name"], (float(row["l"]), float(row["a"]), float(row["b"])))
        for row in csv_table("ral.csv")
    }


def ral_number(text: str) -> str:
    """Return the four digits of a RAL number as people write it; raise CraftError otherwise."""
    match = _RAL.match(text)
    if match is None:
        raise CraftError(
            Message("Enter a RAL number with four digits, such as RAL 7016."), key="colour"
        )
    return match[1]


def lab_of_ral(text: str) -> Lab:
    """Return the CIELAB of a RAL number; raise CraftError where its value is unknown here."""
    number = ral_number(text)
    found = _rals().get(number)
    if found is None:
        raise CraftError(
            Message(
                "We can't show RAL {number} on screen. Choose a colour from the list, or "
                "decide from a sample when you drop off.",
                number=number,
            ),
            key="colour",
        )
    return found[1]


@cache
def _library() -> Any:
    """Return the colour library; importing it costs 65 ms, so only a comparison pays for it."""
    return import_module("coloraide").Color


def delta_e00(lab1: Lab, lab2: Lab) -> float:
    """Return the CIEDE2000 difference of two CIELAB colours (ISO/CIE 11664-6)."""
    colour = _library()
    first, second = colour("lab-d65", list(lab1)), colour("lab-d65", list(lab2))
    return float(first.delta_e(second, method="2000", space="lab-d65"))


def difference_says(delta: float) -> Message:
    """Return how visible a CIEDE2000 difference is (common practice); never that it is invisible.

    A value turned back from a screen's eight bits a channel says nothing about what the eye sees.
    """
    return next((words for most, words in _WORDS if delta < most), _FAR)


def nearest(lab: Lab, powders: Iterable[Powder], n: int) -> tuple[Near, ...]:
    """Return the `n` powders nearest to `lab`, nearest first; clear coats have no colour."""
    coloured = [powder for powder in powders if powder.effect is not Effect.CLEAR]
    found = [(delta_e00(lab, powder.lab), powder) for powder in coloured]
    found.sort(key=lambda pair: (pair[0], pair[1].code))
    return tuple(Near(powder, delta, difference_says(delta)) for delta, powder in found[:n])
