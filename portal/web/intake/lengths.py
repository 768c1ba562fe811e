"""Lengths as people type them: 450, 45 cm, 17 3/4 in, 4.5", 1,2 m. Answers in mm."""

import re
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
    tidy = text.strip().lower().replace("”", '"').replace("″", '"').replace("''", '"')
    for sign, spelled in PARTS.items():
        tidy = tidy.replace(sign, spelled)
    found = FORM.match(tidy.strip())
    if not found or not (found["whole"] or found["part"]):
        return None
    number = float(found["whole"].replace(",", ".")) if found["whole"] else 0.0
    if found["part"]:
        top, bottom = found["part"].split("/")
        if int(bottom) == 0:
            return None
        number += float(Fraction(int(top), int(bottom)))
    return number * (MM[found["unit"]] if found["unit"] else bare)
