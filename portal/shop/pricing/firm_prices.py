"""What a trade customer pays: a share off the price list, and own prices for some lines.

An own price counts as it is written; the share comes off everything else that is done to parts.
The minimum order, the rush and the rounding stay the list's. Nobody asks a firm for a deposit.
"""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Annotated, Any, get_args

from pydantic import AfterValidator

from portal.craft import reading
from portal.craft.messages import Message
from portal.craft.parts import Item, PartKind, System
from portal.craft.schema import AskedWords, Label, Table, bare, entries, is_table, longest
from portal.shop.money import round_half_up
from portal.shop.pricing.part_prices import (
    EXACT,
    OTHER_PARTS,
    Band,
    PartPrice,
    Price,
    PricedBy,
    rising,
)
from portal.shop.pricing.price_list import Percent, Tariff, Work

OwnBands = Annotated[
    tuple[Band, ...], longest(60), AfterValidator(lambda bands: rising(bands) if bands else ())
]
# what is done to parts; the share comes off these groups of the list
WORK = ("wheels", "parts", "finishes", "strip", "removal", "repairs")


@dataclass(frozen=True, slots=True)
class FirmPrices(Table):
    """The prices of one firm, in minor units as its price list writes them."""

    percent_off: Annotated[Percent, Label(Message("Off the price list"), unit="%")] = Decimal(0)
    wheels: Annotated[OwnBands, Label(Message("Own price of a wheel, by its size"))] = ()
    parts: Annotated[
        Mapping[PartKind, Price],
        AskedWords(OTHER_PARTS),
        Label(Message("Own price of another part, each, whatever its size")),
    ] = dataclasses.field(default_factory=dict)
    systems: Annotated[
        Mapping[System, Price],
        Label(Message("Own extra for a wheel, by number and kind of coats")),
    ] = dataclasses.field(default_factory=dict)
    tyre_off: Annotated[Price | None, Label(Message("Own price for a tyre taken off"))] = None
    tyre_on: Annotated[Price | None, Label(Message("Own price for a tyre fitted"))] = None
    fetching: Annotated[
        Price | None, Label(Message("Own price for fetching and bringing back, once per order"))
    ] = None


LIST_PRICES = FirmPrices()


def read_firm_prices(body: Mapping[str, Any], currency: str) -> FirmPrices:
    """Read a firm's prices; raise CraftError naming the key."""
    return reading.read(FirmPrices, body, currency)


def tariff_for(tariff: Tariff, own: FirmPrices) -> Tariff:
    """Return the price list as a firm has it."""
    cut = _with_share_off(tariff, own.percent_off)
    systems = {
        system: Work(own.systems.get(system, work.per_wheel), work.per_m2)
        for system, work in cut.finishes.systems.items()
    }
    return replace(
        cut,
        wheels=replace(cut.wheels, bands=own.wheels or cut.wheels.bands),
        parts={**cut.parts, **{kind: _each(price) for kind, price in own.parts.items()}},
        finishes=replace(cut.finishes, systems=systems),
        removal=replace(
            cut.removal,
            off=_with_tyre(cut.removal.off, own.tyre_off),
            refit=_with_tyre(cut.removal.refit, own.tyre_on),
        ),
        fetching=tariff.fetching if own.fetching is None else own.fetching,
        deposit=replace(tariff.deposit, percent=Decimal(0)),
    )


def _each(price: int) -> PartPrice:
    return PartPrice(by=PricedBy.PIECE, price=price)


def _with_tyre(prices: Mapping[Item, int], own: int | None) -> Mapping[Item, int]:
    return prices if own is None else {**prices, Item.TYRE: own}


def _with_share_off(tariff: Tariff, percent: Decimal) -> Tariff:
    if not percent:
        return tariff
    factor = (100 - percent) / 100
    known = entries(Tariff)
    return replace(
        tariff, **{key: _cut(getattr(tariff, key), known[key].kind, (), factor) for key in WORK}
    )


def _cut(value: Any, kind: Any, marks: tuple[Any, ...], factor: Decimal) -> Any:
    """Return a part of a price list with every price in it multiplied by `factor`."""
    if EXACT in marks:
        return round_half_up(Decimal(value) * factor)
    shape: Any = type(value)
    if is_table(shape):
        columns = zip(dataclasses.fields(shape), entries(shape).values(), strict=True)
        return replace(
            value,
            **{
                one.name: _cut(getattr(value, one.name), entry.kind, entry.marks, factor)
                for one, entry in columns
            },
        )
    if isinstance(value, Mapping):
        inner = bare(get_args(kind)[1])
        return {key: _cut(one, *inner, factor) for key, one in value.items()}
    if isinstance(value, tuple) and get_args(kind):
        inner = bare(get_args(kind)[0])
        return tuple(_cut(one, *inner, factor) for one in value)
    return value
