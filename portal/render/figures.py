"""Numbers and measures: metric, or inches, mils, pounds and degrees Fahrenheit by choice.

Source: the international inch of 25.4 mm and pound of 0.45359237 kg, exact by definition, and
the mile of 1.609344 km that follows from the inch.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache

from babel.numbers import format_decimal

from portal.craft.quantities import Box, Figure, Quantity, Span, Unit, UnitSystem
from portal.render.catalogues import catalogue, locale_of
from portal.render.reader import Reader

MM_PER_INCH, KG_PER_POUND, KM_PER_MILE = 25.4, 0.45359237, 1.609344
SHORT_MILES = 15
# where cars and road signs count in miles, whatever parts are measured in
ROADS_IN_MILES = frozenset({"GB", "US"})
THIN_INCHES = 0.4  # thinner than about 10 mm a tenth of an inch says too little
NARROW = "\u00a0"


def number(value: Figure, reader: Reader) -> str:
    """Return a number, at most three decimals; a Decimal with all that it has."""
    pattern = None
    if isinstance(value, Decimal):
        pattern = "#,##0." + "0" * max(0, -int(value.as_tuple().exponent))
    # equal numbers share what was written: a zero below zero is zero
    return _written(value or 0, pattern, reader.language)


@lru_cache(maxsize=4096)
def _written(value: Figure, pattern: str | None, language: str) -> str:
    return str(format_decimal(value, format=pattern, locale=locale_of(language)))


def quantity(measure: Quantity, reader: Reader) -> str:
    """Return '12.5 kg' or '27.6 lb'; a distance where roads count in miles as '50 km (30 mi)'."""
    if measure.unit is Unit.KM and reader.units is UnitSystem.METRIC:
        return _distance(measure, reader)
    return _with_unit([measure.value], measure.unit, reader, " × ")


def _distance(measure: Quantity, reader: Reader) -> str:
    metric = _with_unit([measure.value], measure.unit, reader, " ")
    if reader.country not in ROADS_IN_MILES:
        return metric
    customary = replace(reader, units=UnitSystem.INCH)
    return f"{metric} ({_with_unit([measure.value], measure.unit, customary, ' ')})"


def box(measure: Box, reader: Reader) -> str:
    """Return '600 × 80 × 80 mm'."""
    return _with_unit(measure.sides, Unit.MM, reader, " × ")


def span(measure: Span, reader: Reader) -> str:
    """Return '60–90 µm', as a list says it."""
    return _with_unit([measure.low, measure.high], measure.unit, reader, "–")


def span_in_words(measure: Span, reader: Reader) -> str:
    """Return '60 to 90 µm', as a sentence says it."""
    template = catalogue(reader.language).gettext("{low} to {high}")
    low, high = (_figure(one, measure.unit, reader) for one in (measure.low, measure.high))
    return f"{template.format(low=low, high=high)}{NARROW}{unit_symbol(measure.unit, reader)}"


def row(values: Iterable[Figure], unit: Unit, reader: Reader) -> str:
    """Return '78 · 81 · 80 µm': several measures of one kind."""
    return _with_unit(values, unit, reader, " · ")


def _with_unit(values: Iterable[Figure], unit: Unit, reader: Reader, between: str) -> str:
    written = between.join(_figure(value, unit, reader) for value in values)
    return f"{written}{NARROW}{unit_symbol(unit, reader)}"


def _figure(value: Figure, unit: Unit, reader: Reader) -> str:
    if reader.units is UnitSystem.METRIC:
        return number(value, reader)
    _, turned = CUSTOMARY[unit]
    return _written(turned(float(value)) or 0, "#,##0.####", reader.language)


def unit_symbol(unit: Unit, reader: Reader) -> str:
    """Return what the reader reads in place of our unit."""
    return unit.value if reader.units is UnitSystem.METRIC else CUSTOMARY[unit][0]


def _inches(mm: float) -> float:
    inches = mm / MM_PER_INCH
    return round(inches, 1) if inches >= THIN_INCHES else float(f"{inches:.2g}")


def _pounds(kg: float) -> float:
    pounds = kg / KG_PER_POUND
    return round(pounds, 1 if pounds < 10 else None)


def _miles(km: float) -> float:
    """Return a distance on the road, to ten miles where it is longer: nobody counts nearer."""
    miles = km / KM_PER_MILE
    return round(miles, -1) if miles > SHORT_MILES else round(miles)


CUSTOMARY: dict[Unit, tuple[str, Callable[[float], float]]] = {
    Unit.MM: ("in", _inches),
    Unit.UM: ("mil", lambda um: round(um / MM_PER_INCH, 1)),
    Unit.CELSIUS: ("°F", lambda celsius: round(celsius * 9 / 5 + 32)),
    Unit.KG: ("lb", _pounds),
    Unit.KM: ("mi", _miles),
    Unit.M2: ("ft²", lambda area: round(area / (12 * MM_PER_INCH / 1000) ** 2, 1)),
}
