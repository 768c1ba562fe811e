"""Measures as the reader likes them: metric, or inches and degrees Fahrenheit by choice.

Everything is metric inside, at the counter and on paper. The customer's pages alone are turned
over, and only as they are shown. Sizes that are cast into a rim or a tyre stay as they stand there.

Source: the international inch of 25.4 mm and pound of 0.45359237 kg, exact by definition.
"""

import re
from collections.abc import Callable
from functools import lru_cache

from babel.numbers import NumberFormatError, format_decimal, parse_decimal
from flask import g, has_request_context, request

from portal.craft.messages import Message

METRIC, INCH = "metric", "inch"
SYSTEMS = {METRIC: Message("mm, °C"), INCH: Message("inch, °F")}
COOKIE = "units"
CUSTOMERS = frozenset({"intake", "status"})
MM_PER_INCH, KG_PER_POUND = 25.4, 0.45359237
THIN_INCHES = 0.4  # thinner than about 10 mm a tenth of an inch says too little

# one number or several before their unit: 600 × 80 × 80 mm, 60–90 µm, 0.06 to 0.1 mm
_NUMBER = r"\d+(?:[.,\u00a0]\d+)*"
_JOINT = r"\s?(?:×|–|-|to|and|bis|und|a|y)\s?"
_MEASURE = re.compile(
    rf"(?<![\w.,/])({_NUMBER}(?:{_JOINT}{_NUMBER})*)([ \u00a0])(mm|µm|°C|kg|m²)(?!\w)"
)
# marks of a rim or a tyre: these names stand in their sentences alone
_CAST = re.compile(r"\{(?:mm|first|second|width|aspect|size|offset)\}")


def chosen() -> str:
    """Return the customer's choice of units."""
    kept = request.cookies.get(COOKIE, METRIC)
    return kept if kept in SYSTEMS else METRIC


def for_customers() -> bool:
    """Whether the page that is being made is one of the customer's."""
    return request.blueprint in CUSTOMERS


def in_inches() -> bool:
    """Whether the page that is being made shows inches."""
    if not has_request_context():
        return False
    if "inches" not in g:
        g.inches = for_customers() and chosen() == INCH
    return bool(g.inches)


def is_cast(template: str) -> bool:
    """Whether a sentence speaks of sizes as they are cast into a rim or a tyre."""
    return bool(_CAST.search(template))


def measured(text: str, spoken: str) -> str:
    """Return a text of the page in the reader's units."""
    return turned(text, spoken) if in_inches() else text


@lru_cache(maxsize=4096)
def turned(text: str, spoken: str) -> str:
    """Return a text with its metric measures turned into inches, mils, °F, pounds and ft²."""

    def turn(found: re.Match[str]) -> str:
        unit, change = TURNS[found[3]]
        try:
            values = re.sub(
                _NUMBER,
                lambda n: _written(change(float(parse_decimal(n[0], locale=spoken))), spoken),
                found[1],
            )
        except NumberFormatError:
            return found[0]
        return f"{values}{found[2]}{unit}"

    return _MEASURE.sub(turn, text)


def _written(value: float, spoken: str) -> str:
    return str(format_decimal(value, format="#,##0.####", locale=spoken))


def _inches(mm: float) -> float:
    inches = mm / MM_PER_INCH
    return round(inches, 1) if inches >= THIN_INCHES else float(f"{inches:.2g}")


def _pounds(kg: float) -> float:
    pounds = kg / KG_PER_POUND
    return round(pounds, 1 if pounds < 10 else None)


TURNS: dict[str, tuple[str, Callable[[float], float]]] = {
    "mm": ("in", _inches),
    "µm": ("mil", lambda um: round(um / MM_PER_INCH, 1)),
    "°C": ("°F", lambda celsius: round(celsius * 9 / 5 + 32)),
    "kg": ("lb", _pounds),
    "m²": ("ft²", lambda area: round(area / (0.012 * MM_PER_INCH) ** 2, 1)),
}
