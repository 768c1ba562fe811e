"""The shop's price list: what it holds, and how it is read.

The document is the section `prices` of `demo_seed/shop.toml`, edited in the office. Its sums are
net or gross as `tax.mode` says; inside they are whole minor units (`part_prices.Price`).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Annotated, Any

from pydantic import AfterValidator, Field

from portal.craft import reading
from portal.craft.answers import NewPart, RouteKind
from portal.craft.messages import CraftError, Message
from portal.craft.parts import Damage, Effect, Item, PartKind, System, Titled, WheelBuild
from portal.craft.reading import missing
from portal.craft.schema import (
    AskedWords,
    Day,
    Exact,
    Label,
    Table,
    Text,
    amount,
    longest,
    whole,
)
from portal.shop.pricing.part_prices import (
    AT_LEAST,
    BANDS,
    OTHER_PARTS,
    Bands,
    PartPrice,
    Parts,
    Price,
)


class TaxMode(Titled):
    """How the prices of the list stand to the tax on sales."""

    INCLUSIVE = "inclusive", "Prices include tax"
    EXCLUSIVE = "exclusive", "Tax is added to prices"
    NONE = "none", "No tax"


def _code(text: str) -> str:
    if len(text) != 3 or not text.isascii() or not text.isupper():
        raise CraftError(Message("Enter a currency's three letters, such as GBP."))
    return text


Percent = Annotated[Exact, amount(0, 100)]
PERCENT = Label(Message("Percent"), unit="%")


@dataclass(frozen=True, slots=True)
class PriceSpan(Table):
    """A price that inspection decides: the least, the usual and the most, per part."""

    low: Annotated[Price, AT_LEAST]
    usual: Annotated[Price, Label(Message("Usually"))]
    high: Annotated[Price, Label(Message("At most"))]


@dataclass(frozen=True, slots=True)
class Work(Table):
    """Prices of one kind of work: per wheel, and per m² for other parts."""

    per_wheel: Annotated[Price, Label(Message("Per wheel"))]
    per_m2: Annotated[Price, Label(Message("Per m²"))]


@dataclass(frozen=True, slots=True)
class TaxRate(Table):
    """A rate of the tax in percent, in force from a day on."""

    start: Annotated[Day, Field(alias="from"), Label(Message("From"))]
    percent: Annotated[Percent, PERCENT]


def _by_day(rates: tuple[TaxRate, ...]) -> tuple[TaxRate, ...]:
    if len({one.start for one in rates}) != len(rates):
        raise CraftError(Message("Two rates start on the same day. Change one of them."))
    return tuple(sorted(rates, key=lambda one: one.start))


@dataclass(frozen=True, slots=True)
class Tax(Table):
    """The tax on sales: its name, its mode and its rates in percent, each from a day on."""

    mode: Annotated[TaxMode, Label(Message("Tax"))]
    name: Annotated[Text, longest(20), Label(Message("Name of the tax"))] = "VAT"
    rates: Annotated[
        tuple[TaxRate, ...], longest(60), AfterValidator(_by_day), Label(Message("Rates"))
    ] = ()

    def percent(self, on: date) -> Decimal:
        """Return the rate in force on a day; before the first day, the first rate."""
        if self.mode is TaxMode.NONE:
            return Decimal(0)
        begun = [rate.percent for rate in self.rates if rate.start <= on]
        return begun[-1] if begun else self.rates[0].percent


def _with_rates(tax: Tax) -> Tax:
    if tax.mode is not TaxMode.NONE and not tax.rates:
        raise CraftError(missing("rates"), key="rates")
    return tax


def _every(kind: type[Enum], usual: Any) -> Any:
    """Give every word its price; what isn't named costs nothing."""
    return AfterValidator(lambda named: {one: named.get(one, usual) for one in kind})


NO_WORK = Work(0, 0)
SystemWork = Annotated[Mapping[System, Work], _every(System, NO_WORK)]
EffectWork = Annotated[Mapping[Effect, Work], _every(Effect, NO_WORK)]
RouteWork = Annotated[Mapping[RouteKind, Work], _every(RouteKind, NO_WORK)]
Builds = Annotated[Mapping[WheelBuild, Price], _every(WheelBuild, 0)]
Items = Annotated[Mapping[Item, Price], _every(Item, 0)]
NewParts = Annotated[Mapping[NewPart, Price], _every(NewPart, 0)]
# what is priced for itself, and what a price list says nothing of
STRIPPED = tuple(one for one in RouteKind if one not in {RouteKind.NOTHING, RouteKind.NOT_HERE})


@dataclass(frozen=True, slots=True)
class WheelPrices(Table):
    """Wheels by their diameter in inches; `assume` counts while it isn't known."""

    assume: Annotated[
        Exact, amount(8, 30), Label(Message("Size we assume until we know it"), unit="in")
    ]
    bands: Annotated[Bands, BANDS]
    builds: Annotated[Builds, Label(Message("Extra, by type of wheel"))]


@dataclass(frozen=True, slots=True)
class FinishPrices(Table):
    """What a finish costs beyond a single coat."""

    extra_bare: Annotated[Price, Label(Message("Each extra surface kept bare"))]
    second_colour: Annotated[Work, Label(Message("A second colour"))]
    pre_bake: Annotated[Work, Label(Message("Pre-bake (drives gas out of the metal)"))]
    systems: Annotated[SystemWork, Label(Message("Extra, by number and kind of coats"))]
    effects: Annotated[EffectWork, Label(Message("Extra, by powder effect"))]


@dataclass(frozen=True, slots=True)
class StripPrices(Table):
    """What it costs to take an old finish off."""

    transport: Annotated[
        Price, Label(Message("Transport to the stripping company, once per order"))
    ]
    old_coating_check: Annotated[Price, Label(Message("Testing an old finish"))]
    routes: Annotated[RouteWork, AskedWords(STRIPPED), Label(Message("By stripping method"))]
    unknown: Annotated[Work, Label(Message("Old finish not known"))]


@dataclass(frozen=True, slots=True)
class RemovalPrices(Table):
    """What it costs to take things off and to put them on again."""

    wheels_off_car: Annotated[Price, Label(Message("Wheel off and on the car, each"))]
    off: Annotated[Items, Label(Message("Taking off (prices)"))]
    refit: Annotated[Items, Label(Message("Refitting"))]
    new_parts: Annotated[NewParts, Label(Message("New small parts"))]


@dataclass(frozen=True, slots=True)
class Rush(Table):
    """What it costs to go first; both nothing: it isn't offered."""

    percent: Annotated[Exact, amount(0, 500), PERCENT]
    at_least: Annotated[Price, AT_LEAST]


@dataclass(frozen=True, slots=True)
class Deposit(Table):
    """What is asked for at booking, from which total on."""

    percent: Annotated[Percent, PERCENT]
    least_total: Annotated[Price, Field(alias="from"), Label(Message("Deposit asked for from"))]
    at_least: Annotated[Price, AT_LEAST]


@dataclass(frozen=True, slots=True)
class Rounding(Table):
    """To what sums are rounded."""

    to: Annotated[
        Price, AfterValidator(lambda minor: max(1, minor)), Label(Message("Round sums to"))
    ]


@dataclass(frozen=True, slots=True)
class Customary(Table):
    """What the customer's own errands usually cost here, and how long each way takes.

    Sums in minor units; `days` are working days in our hands, without strip runs, and
    `days_for_tyres` what the tyre shop before and after adds when bare rims are brought.
    """

    tyre_off_on_each: Annotated[Price, Label(Message("Tyre off and on, each"))]
    trip: Annotated[Price, Label(Message("A trip to us"))]
    day_without_car: Annotated[Price, Label(Message("A day without the car"))]
    days: Annotated[int, whole(0, 60), Label(Message("Working days at the works"))]
    days_for_tyres: Annotated[
        int, whole(0, 60), Label(Message("Extra working days for tyre fitting"))
    ]


def _ordered(span: PriceSpan) -> PriceSpan:
    if not span.low <= span.usual <= span.high:
        sentence = Message("The usual price must be between the lowest and the highest.")
        raise CraftError(sentence, key="usual")
    return span


def _in_order(spans: Mapping[Damage, PriceSpan]) -> Mapping[Damage, PriceSpan]:
    return {damage: spans[damage] for damage in Damage if damage in spans}


Repairs = Annotated[
    Mapping[Damage, Annotated[PriceSpan, AfterValidator(_ordered)]],
    AfterValidator(_in_order),
]


@dataclass(frozen=True, slots=True)
class Tariff(Table):
    """The whole price list, the document `prices` of shop.toml, in minor units of `currency`.

    A kind of part that `parts` doesn't name isn't offered.
    """

    wheels: Annotated[WheelPrices, Label(Message("Wheels"))]
    parts: Annotated[Parts, AskedWords(OTHER_PARTS), Label(Message("Other parts"))]
    finishes: Annotated[FinishPrices, Label(Message("Finishes"))]
    strip: Annotated[StripPrices, Label(Message("Stripping"))]
    removal: Annotated[RemovalPrices, Label(Message("Taking off and fitting"))]
    repairs: Annotated[
        Repairs, Label(Message("Repairs: least, usual and most (inspection decides)"))
    ]
    rush: Annotated[Rush, Label(Message("Rush job"))]
    deposit: Annotated[Deposit, Label(Message("Deposit"))]
    tax: Annotated[Tax, AfterValidator(_with_rates), Label(Message("Tax"))]
    rounding: Annotated[Rounding, Label(Message("Rounding"))]
    customary: Annotated[Customary, Label(Message("The customer's own costs, usual figures"))]
    currency: Annotated[Text, AfterValidator(_code), Label(Message("Currency"))]
    minimum: Annotated[Price, Label(Message("Minimum order"))]
    fetching: Annotated[
        Price, Label(Message("Fetching the parts and bringing them back, once per order"))
    ] = 0
    finish_change: Annotated[
        Price, Label(Message("Another colour or finish by the customer's link, each time"))
    ] = 0

    def part_price(self, kind: PartKind) -> PartPrice:
        """Return the price of a kind; one that the list doesn't name costs what a box costs."""
        return self.parts.get(kind) or self.parts[PartKind.BOX]

    @property
    def sells_fetching(self) -> bool:
        """Whether parts are fetched; a list without a price for it offers it to nobody."""
        return bool(self.fetching)

    @property
    def sells_rush(self) -> bool:
        """Whether customers may pay for going first; a list without a price for it does not."""
        return bool(self.rush.percent or self.rush.at_least)


def read_tariff(body: Mapping[str, Any]) -> Tariff:
    """Read a price list; raise CraftError naming the key, such as `wheels.bands[1].price`."""
    return reading.read(Tariff, body, body.get("currency"))
