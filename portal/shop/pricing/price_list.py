"""The shop's price list, read and checked. Every sum in it is in major units, written exactly.

Prices stand as texts ("62.50") or whole numbers, so that no float ever comes near money; inside
they are whole minor units. They are net or gross as `tax.mode` says. The form of the document
is `demo_seed/shop.toml`, section `prices`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from portal.craft.answers import NewPart, RouteKind
from portal.craft.fields import Fields, refuse
from portal.craft.messages import Message
from portal.craft.parts import Damage, Effect, Item, PartKind, System, Titled, WheelBuild
from portal.shop.money import round_half_up


class TaxMode(Titled):
    """How the prices of the list stand to the tax on sales."""

    INCLUSIVE = "inclusive", "Prices include tax"
    EXCLUSIVE = "exclusive", "Tax is added to prices"
    NONE = "none", "No tax"


class PricedBy(Titled):
    """What the price of a part that isn't a wheel goes by."""

    PIECE = "piece", "Each"
    AREA = "area", "Coated area"
    BAND = "band", "Longest side"


# kinds that price lists written before them don't name
SINCE_LATER = frozenset({PartKind.CHAIR, PartKind.TABLE, PartKind.BENCH, PartKind.OTHER})


@dataclass(frozen=True, slots=True)
class Band:
    """Up to and including this size (inches for wheels, mm for others), this price."""

    up_to: Decimal
    price: int


@dataclass(frozen=True, slots=True)
class PartPrice:
    """How one kind of part is priced. `assume_m2` counts while the size isn't known."""

    by: PricedBy
    price: int = 0
    per_m2: int = 0
    at_least: int = 0
    assume_m2: Decimal = Decimal(1)
    bands: tuple[Band, ...] = ()


@dataclass(frozen=True, slots=True)
class PriceSpan:
    """A price that inspection decides: the least, the usual and the most, per part."""

    low: int
    usual: int
    high: int


@dataclass(frozen=True, slots=True)
class Work:
    """Prices of one kind of work: per wheel, and per m² for other parts."""

    per_wheel: int
    per_m2: int


@dataclass(frozen=True, slots=True)
class Tax:
    """The tax on sales: its name, its mode and its rates in percent, each from a day on."""

    mode: TaxMode
    name: str
    rates: tuple[tuple[date, Decimal], ...]

    def percent(self, on: date) -> Decimal:
        """Return the rate in force on a day; before the first day, the first rate."""
        if self.mode is TaxMode.NONE:
            return Decimal(0)
        begun = [percent for start, percent in self.rates if start <= on]
        return begun[-1] if begun else self.rates[0][1]


@dataclass(frozen=True, slots=True)
class Customary:
    """What the customer's own errands usually cost here, and how long each way takes.

    Sums in minor units; `days` are working days in our hands, without strip runs, and
    `days_for_tyres` what the tyre shop before and after adds when bare rims are brought.
    """

    tyre_off_on_each: int
    trip: int
    day_without_car: int
    days: int
    days_for_tyres: int


@dataclass(frozen=True, slots=True)
class Tariff:
    """The whole price list in minor units, `currency` apart.

    A kind of part that `parts` doesn't name isn't offered.
    """

    currency: str
    tax: Tax
    wheel_bands: tuple[Band, ...]
    assume_diameter: Decimal
    builds: Mapping[WheelBuild, int]
    parts: Mapping[PartKind, PartPrice]
    systems: Mapping[System, Work]
    effects: Mapping[Effect, Work]
    second_colour: Work
    pre_bake: Work
    extra_bare: int
    strip: Mapping[RouteKind, Work]
    strip_unknown: Work
    strip_transport: int
    old_coating_check: int
    removal: Mapping[Item, int]
    refit: Mapping[Item, int]
    new_parts: Mapping[NewPart, int]
    wheels_off_car: int
    repairs: Mapping[Damage, PriceSpan]
    rush_percent: Decimal
    rush_at_least: int
    minimum: int
    round_to: int
    deposit_percent: Decimal
    deposit_from: int
    deposit_at_least: int
    customary: Customary

    def part_price(self, kind: PartKind) -> PartPrice:
        """Return the price of a kind; one that the list doesn't name costs what a box costs."""
        return self.parts.get(kind) or self.parts[PartKind.BOX]

    @property
    def sells_rush(self) -> bool:
        """Whether customers may pay for going first; a list without a price for it does not."""
        return bool(self.rush_percent or self.rush_at_least)


def read_tariff(body: Mapping[str, Any]) -> Tariff:
    """Read a price list; raise CraftError naming the key, such as `wheels.bands[1].price`."""
    top = Fields(body)
    wheels, rush, deposit, rounding = (
        _table(top, name) for name in ("wheels", "rush", "deposit", "rounding")
    )
    finishes, strip, removal = (_table(top, name) for name in ("finishes", "strip", "removal"))
    tariff = Tariff(
        currency=_currency(top),
        tax=_tax(_table(top, "tax")),
        wheel_bands=_bands(wheels),
        assume_diameter=wheels.decimal("assume", low=8, high=30),
        builds=_by_word(wheels, "builds", WheelBuild),
        parts=_parts(_table(top, "parts")),
        systems=_works(finishes, "systems", System),
        effects=_works(finishes, "effects", Effect),
        second_colour=_work(finishes, "second_colour"),
        pre_bake=_work(finishes, "pre_bake"),
        extra_bare=_money(finishes, "extra_bare"),
        strip=_works(strip, "routes", RouteKind),
        strip_unknown=_work(strip, "unknown"),
        strip_transport=_money(strip, "transport"),
        old_coating_check=_money(strip, "old_coating_check"),
        removal=_by_word(removal, "off", Item),
        refit=_by_word(removal, "refit", Item),
        new_parts=_by_word(removal, "new_parts", NewPart),
        wheels_off_car=_money(removal, "wheels_off_car"),
        repairs=_repairs(_table(top, "repairs")),
        rush_percent=rush.decimal("percent", high=500),
        rush_at_least=_money(rush, "at_least"),
        minimum=_money(top, "minimum"),
        round_to=max(1, _money(rounding, "to")),
        deposit_percent=deposit.decimal("percent", high=100),
        deposit_from=_money(deposit, "from"),
        deposit_at_least=_money(deposit, "at_least"),
        customary=_customary(_table(top, "customary")),
    )
    for table in (wheels, rush, deposit, rounding, finishes, strip, removal, top):
        table.close()
    return tariff


def _table(top: Fields, key: str) -> Fields:
    table = top.table(key)
    if table is None:
        raise top.missing(key)
    return table


def _money(table: Fields, key: str) -> int:
    """Return a sum in minor units, with at most two decimals."""
    major = table.decimal(key)
    minor = round_half_up(major * 100)
    if Decimal(minor) != major * 100:
        raise refuse(Message("Enter a price with at most two decimals."), table.path(key))
    return minor


def _currency(top: Fields) -> str:
    code = top.text("currency", longest=3)
    if len(code) != 3 or not code.isascii() or not code.isupper():
        raise refuse(
            Message("Enter a currency's three letters, such as GBP."), top.path("currency")
        )
    return code


def _tax(table: Fields) -> Tax:
    mode = table.need_word("mode", TaxMode)
    rates = []
    for one in table.tables("rates"):
        start = one.day("from")
        if start is None:
            raise one.missing("from")
        rates.append((start, one.decimal("percent", high=100)))
        one.close()
    if mode is not TaxMode.NONE and not rates:
        raise table.missing("rates")
    if len({start for start, _ in rates}) != len(rates):
        raise refuse(
            Message("Two rates start on the same day. Change one of them."), table.path("rates")
        )
    tax = Tax(mode, table.text("name", "VAT", longest=20), tuple(sorted(rates)))
    table.close()
    return tax


def _bands(table: Fields) -> tuple[Band, ...]:
    bands: list[Band] = []
    for one in table.tables("bands"):
        band = Band(one.decimal("up_to"), _money(one, "price"))
        if bands and band.up_to <= bands[-1].up_to:
            raise refuse(
                Message("Each size band must end above the one before."), one.path("up_to")
            )
        bands.append(band)
        one.close()
    if not bands:
        raise table.missing("bands")
    return tuple(bands)


def _by_word(top: Fields, key: str, kind: type[Any]) -> dict[Any, int]:
    """Return a price for every word of `kind`; what isn't named costs nothing."""
    table = _table(top, key)
    found = {one: _money(table, one.value) if table.has(one.value) else 0 for one in kind}
    table.close()
    return found


def _work(top: Fields, key: str) -> Work:
    table = _table(top, key)
    work = Work(_money(table, "per_wheel"), _money(table, "per_m2"))
    table.close()
    return work


def _works(top: Fields, key: str, kind: type[Any]) -> dict[Any, Work]:
    table = _table(top, key)
    found = {one: _work(table, one.value) if table.has(one.value) else Work(0, 0) for one in kind}
    table.close()
    return found


def _parts(table: Fields) -> dict[PartKind, PartPrice]:
    found: dict[PartKind, PartPrice] = {}
    for kind in PartKind:
        if kind is PartKind.WHEEL or (kind in SINCE_LATER and not table.has(kind.value)):
            continue
        found[kind] = _part_price(_table(table, kind.value))
    table.close()
    return found


def _part_price(table: Fields) -> PartPrice:
    by = table.word("by", PricedBy) or PricedBy.AREA
    price = PartPrice(
        by=by,
        price=_money(table, "price") if by is PricedBy.PIECE else 0,
        per_m2=_money(table, "per_m2") if by is PricedBy.AREA else 0,
        at_least=_money(table, "at_least") if by is PricedBy.AREA else 0,
        assume_m2=table.decimal("assume_m2", "1"),
        bands=_bands(table) if by is PricedBy.BAND else (),
    )
    table.close()
    return price


def _repairs(table: Fields) -> dict[Damage, PriceSpan]:
    found = {}
    for damage in Damage:
        one = table.table(damage.value)
        if one is None:
            continue
        span = PriceSpan(_money(one, "low"), _money(one, "usual"), _money(one, "high"))
        if not span.low <= span.usual <= span.high:
            raise refuse(
                Message("The usual price must be between the lowest and the highest."),
                one.path("usual"),
            )
        one.close()
        found[damage] = span
    table.close()
    return found


def _customary(table: Fields) -> Customary:
    found = Customary(
        tyre_off_on_each=_money(table, "tyre_off_on_each"),
        trip=_money(table, "trip"),
        day_without_car=_money(table, "day_without_car"),
        days=table.need_whole("days", 0, 60),
        days_for_tyres=table.need_whole("days_for_tyres", 0, 60),
    )
    table.close()
    return found
