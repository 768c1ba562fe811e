"""Prices as they are written, by size, and of the parts that aren't wheels.

Prices stand as texts ("62.50") or whole numbers, so that no float ever comes near money; inside
they are whole minor units.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BeforeValidator,
    PlainSerializer,
    SerializationInfo,
    ValidationInfo,
)

from portal.craft import reading
from portal.craft.messages import CraftError, Message
from portal.craft.parts import PartKind, Titled
from portal.craft.reading import missing, unknown_key
from portal.craft.schema import Exact, Label, Table, amount, exact, longest
from portal.shop.money import Money, TooFine, digits_of

# kinds that price lists written before them don't name
SINCE_LATER = frozenset({PartKind.CHAIR, PartKind.TABLE, PartKind.BENCH, PartKind.OTHER})


OTHER_PARTS = tuple(one for one in PartKind if one is not PartKind.WHEEL)


class PricedBy(Titled):
    """What the price of a part that isn't a wheel goes by."""

    PIECE = "piece", "Each"
    AREA = "area", "Coated area"
    BAND = "band", "Longest side"


HIGHEST = 1_000_000  # in major units


def _minor(value: Any, info: ValidationInfo) -> int:
    """Return a sum in minor units, with no more decimals than its currency has."""
    currency = str(info.context)
    major = exact(value)
    if not major.is_finite() or not 0 <= major <= HIGHEST:
        raise CraftError(reading.amount_span(0, HIGHEST))
    try:
        return Money.of(major, currency).minor
    except TooFine:
        raise CraftError(_too_fine(currency)) from None


def _too_fine(currency: str) -> Message:
    digits = digits_of(currency)
    if not digits:
        return Message("Enter a whole price: {currency} has no decimals.", currency=currency)
    if digits == 2:
        return Message("Enter a price with at most two decimals.")
    return Message("Enter a price with at most {digits} decimals.", digits=digits)


def _major(minor: int, info: SerializationInfo) -> str:
    return Money(minor, str(info.context)).plain


# beside a type: written as an exact decimal
EXACT = object()
Price = Annotated[int, BeforeValidator(_minor), PlainSerializer(_major), EXACT]
AT_LEAST = Label(Message("At least"))


@dataclass(frozen=True, slots=True)
class Band(Table):
    """Up to and including this size (inches for wheels, mm for others), this price."""

    up_to: Annotated[Exact, amount(), Label(Message("Up to"))]
    price: Annotated[Price, Label(Message("Price"))]


def rising(bands: tuple[Band, ...]) -> tuple[Band, ...]:
    """Return bands of sizes as they are; refuse none, and one that ends below another."""
    if not bands:
        raise CraftError(missing("bands"))
    for number, band in enumerate(bands):
        if number and band.up_to <= bands[number - 1].up_to:
            sentence = Message("Each size band must end above the one before.")
            raise CraftError(sentence, key=f"[{number}].up_to")
    return bands


Bands = Annotated[tuple[Band, ...], longest(60), AfterValidator(rising)]
BANDS = Label(Message("Price by size"))


@dataclass(frozen=True, slots=True)
class PartPrice(Table):
    """How one kind of part is priced. `assume_m2` counts while the size isn't known."""

    by: Annotated[PricedBy, Label(Message("Price by"))] = PricedBy.AREA
    price: Annotated[Price, Label(Message("Price"))] = 0
    per_m2: Annotated[Price, Label(Message("Per m²"))] = 0
    at_least: Annotated[Price, AT_LEAST] = 0
    assume_m2: Annotated[
        Exact, amount(), Label(Message("Area we assume until we know the size"), unit="m²")
    ] = Decimal(1)
    bands: Annotated[Bands, BANDS] = ()


NEEDED: Mapping[str, tuple[str, ...]] = {
    PricedBy.PIECE: ("price",),
    PricedBy.AREA: ("per_m2", "at_least"),
    PricedBy.BAND: ("bands",),
}


def _priced(body: Any) -> Any:
    """Refuse a part's price that lacks what it goes by, or has what it doesn't go by."""
    by = body.get("by", PricedBy.AREA) if isinstance(body, Mapping) else None
    needed = NEEDED.get(by, ()) if isinstance(by, str) else ()
    if not needed:
        return body
    for key in needed:
        if body.get(key) is None:
            raise CraftError(missing(key), key=key)
    for key in ("price", "per_m2", "at_least", "bands"):
        if key in body and key not in needed:
            raise CraftError(Message("This price goes by something else. Leave it out."), key=key)
    return body


def _offered(parts: Mapping[PartKind, PartPrice]) -> Mapping[PartKind, PartPrice]:
    """Refuse a list that lacks a kind that was always in it, or has one that has its own table."""
    if PartKind.WHEEL in parts:
        known = tuple(one.value for one in OTHER_PARTS)
        raise CraftError(unknown_key("wheel", known), key="wheel")
    for kind in OTHER_PARTS:
        if kind not in parts and kind not in SINCE_LATER:
            raise CraftError(missing(kind.value), key=kind.value)
    return {kind: parts[kind] for kind in PartKind if kind in parts}


Parts = Annotated[
    Mapping[PartKind, Annotated[PartPrice, BeforeValidator(_priced)]], AfterValidator(_offered)
]
