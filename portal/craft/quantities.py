"""Measures as values: a figure with its unit, the sides of a thing, a range.

Everything is metric inside. Readers see measures in the units they chose; sizes
that are cast into a rim or a tyre are markings, no measures, and stay as they stand there.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from portal.craft.titled import Titled

Figure = int | float | Decimal


class Unit(Enum):
    """The units that we measure in."""

    MM = "mm"
    UM = "µm"
    CELSIUS = "°C"
    KG = "kg"
    M2 = "m²"
    KM = "km"


class UnitSystem(Titled):
    """The units that a reader likes."""

    METRIC = "metric", "mm, °C"
    INCH = "inch", "inch, °F"

    @classmethod
    def usual_in(cls, country: str) -> "UnitSystem":
        """Return what is usual in a country (ISO 3166).

        Source: CLDR, supplemental data, measurementSystem "US".
        """
        return cls.INCH if country in ("US", "LR") else cls.METRIC


@dataclass(frozen=True, slots=True)
class Quantity:
    """A measure, rounded as it is to be shown: 12.5 kg."""

    value: Figure
    unit: Unit


@dataclass(frozen=True, slots=True)
class Box:
    """The sides of a thing in mm: 600 × 80 × 80 mm."""

    sides: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class Span:
    """A range: 60 to 90 µm."""

    low: Figure
    high: Figure
    unit: Unit


def fixed(value: float, places: int) -> Decimal:
    """Return a figure that is shown with all its decimals: 0.20, where 0.2 would say less."""
    return Decimal(f"{value:.{places}f}")


def mm(value: Figure) -> Quantity:
    """Return a length."""
    return Quantity(value, Unit.MM)


def micron(value: Figure) -> Quantity:
    """Return the thickness of a film."""
    return Quantity(value, Unit.UM)


def celsius(value: Figure) -> Quantity:
    """Return a temperature."""
    return Quantity(value, Unit.CELSIUS)


def kg(value: Figure) -> Quantity:
    """Return a mass."""
    return Quantity(value, Unit.KG)


def km(value: Figure) -> Quantity:
    """Return a distance to drive."""
    return Quantity(value, Unit.KM)


def m2(value: Figure) -> Quantity:
    """Return an area."""
    return Quantity(value, Unit.M2)
