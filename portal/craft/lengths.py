"""Lengths as people type them: 450, 45 cm, 17 3/4 in, 4.5", 1,2 m. Answers in mm."""

import re
from collections.abc import Sequence
from fractions import Fraction

MM = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "ft": 304.8,
    **dict.fromkeys(("in", "inch", "inches", "zoll", "pulgadas", "pulg", '"'), 25.4),
}
PARTS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
FORM = re.compile(
    r"^(?P<whole>[0-9]+(?:[.,][0-9]+)?)?\s*(?P<part>[0-9]+/[0-9]+)?\s*"
    r"(?P<unit>mm|cm|m|inches|inch|in|zoll|pulgadas|pulg|ft|\")?\.?$"
)


def read_length(text: str, *, bare: float = 1.0) -> float | None:
    """Return the length in mm, or None where the text is no length; `bare`: mm without a unit."""
    found = _found(text)
    if not found or not (found["whole"] or found["part"]):
        return None
    number = float(found["whole"].replace(",", ".")) if found["whole"] else 0.0
    if found["part"]:
        top, bottom = found["part"].split("/")
        if int(bottom) == 0:
            return None
        number += float(Fraction(int(top), int(bottom)))
    return number * (MM[found["unit"]] if found["unit"] else bare)


def read_lengths(texts: Sequence[str], *, bare: float = 1.0) -> list[float | None]:
    """Return several lengths of one thing in mm, None for each that is no length.

    A unit counts for all: "26 cm", "14" and "12" are all in cm. Where two units are given, a
    number without one is `bare` again.
    """
    units = {unit for unit in map(_unit, texts) if unit is not None}
    usual = units.pop() if len(units) == 1 else bare
    return [read_length(text, bare=usual) for text in texts]


def split_lengths(text: str) -> list[str] | None:
    """Return the three lengths of one line such as 26 x 14 x 12 cm, or None where it has not three.

    A unit at the end counts for all that have none.
    """
    found = [piece.strip() for piece in _TIMES.split(text.strip())]
    return found if len(found) == 3 and all(found) else None


_TIMES = re.compile(r"\s*(?:[x×*]|\bby\b|\bmal\b|\bpor\b)\s*", re.IGNORECASE)


def _unit(text: str) -> float | None:
    found = _found(text)
    return MM[found["unit"]] if found and found["unit"] else None


def _found(text: str) -> re.Match[str] | None:
    tidy = text.strip().lower().replace("”", '"').replace("″", '"').replace("''", '"')
    for sign, spelled in PARTS.items():
        tidy = tidy.replace(sign, spelled)
    return FORM.match(tidy.strip())
