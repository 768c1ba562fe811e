"""The works themselves: who they are, how they work, where they stand, what they write.

The documents `shop` and `place` of shop.toml, and those in the shop's own words.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Annotated

from pydantic import AfterValidator, ValidationInfo

from portal.craft.messages import CraftError, Message
from portal.craft.parts import Titled
from portal.craft.reading import missing
from portal.craft.schema import Exact, Label, Plain, Table, Text, amount, longest, number, whole
from portal.shop.money import Money

LONGEST_LINE = 80


class InspectionRule(Titled):
    """How film readings are judged; the rules stand in craft.inspection."""

    QUALITY_LABEL = "quality_label", "Quality label: five values, their mean, none under 80 %"
    SPOT = "spot", "Spots: the mean of three readings each, within 80–120 % of the range"


def _needed(text: str, info: ValidationInfo) -> str:
    if not text.strip():
        raise CraftError(missing(str(info.field_name)))
    return text.strip()


def _some(share: Decimal) -> Decimal:
    if not share:
        raise CraftError(Message("Enter a share above 0: some of the powder stays on the part."))
    return share


def _country(text: str) -> str:
    if len(text) != 2 or not text.isascii() or not text.isupper():
        raise CraftError(Message("Enter a country's two letters, such as GB."))
    return text


def _without_empty(texts: Mapping[str, str]) -> Mapping[str, str]:
    return {key: text.strip() for key, text in texts.items() if text.strip()}


Needed = Annotated[Text, longest(200), AfterValidator(_needed)]
Line = Annotated[Plain, AfterValidator(lambda line: line[:LONGEST_LINE])]
# texts by language, by kind of letter, or by what they translate; empty ones say nothing
ByKey = AfterValidator(_without_empty)


@dataclass(frozen=True, slots=True)
class WorkRules(Table):
    """How the powder is sprayed, how much heat a part may get, how long it may stay bare."""

    transfer: Annotated[
        Exact,
        amount(0, 1),
        AfterValidator(_some),
        Label(Message("Share of the powder that stays on the part")),
    ]
    heat_limit_min_at_200: Annotated[
        float,
        number(0, 10_000),
        Label(Message("Most heat for an alloy wheel, in minutes at 200 °C"), unit=Message("min")),
    ]
    # steel rusts within hours: trade pages and answers at paintsquare.com ask for 4 to 8 hours or
    # the same day, on dry days at most 24; that other metals may wait a day is common practice
    coat_rusting_within_h: Annotated[
        float,
        number(1, 72),
        Label(
            Message("Longest time from blast to coat: steel, cast iron, unknown metal"),
            unit=Message("h"),
        ),
    ] = 8.0
    coat_within_h: Annotated[
        float,
        number(1, 168),
        Label(Message("Longest time from blast to coat: other metals"), unit=Message("h")),
    ] = 24.0

    def coat_within(self, *, rusts: bool) -> timedelta:
        """Return how long a blasted part may wait for its first coat."""
        return timedelta(hours=self.coat_rusting_within_h if rusts else self.coat_within_h)


@dataclass(frozen=True, slots=True)
class KeepRules(Table):
    """How long ready parts are kept, and when their customer is reminded, in days."""

    remind_after_days: Annotated[
        int,
        whole(1, 365),
        Label(Message("Remind of ready parts after"), unit=Message("days")),
    ] = 14
    keep_ready_days: Annotated[
        int,
        whole(14, 1000),
        Label(Message("Keep ready parts for"), unit=Message("days")),
    ] = 90
    last_reminder_days: Annotated[
        int,
        whole(1, 365),
        Label(Message("Last reminder so long before the end"), unit=Message("days")),
    ] = 14


class FinishUntil(Titled):
    """Until when customers change colour and finish by the link."""

    NEVER = "never", "Never: they call us"
    DROP_OFF = "drop_off", "Until they bring the parts"
    BOOTH = "booth", "Until the parts go to the powder booth"


@dataclass(frozen=True, slots=True)
class ChangeRules(Table):
    """Until when customers change a booking by its link, and what they get back of a deposit."""

    until_hours: Annotated[
        int,
        whole(0, 336),
        Label(
            Message("Customers can move or cancel a drop-off until so long before it"),
            unit=Message("h"),
        ),
    ] = 2
    deposit_kept_percent: Annotated[
        int,
        whole(0, 100),
        Label(
            Message("Share of a paid deposit that you keep when a customer cancels by the link"),
            unit="%",
        ),
    ] = 0
    finish_until: Annotated[
        FinishUntil, Label(Message("Customers can change colour and finish by the link"))
    ] = FinishUntil.BOOTH

    def open_until(self, dropoff_at: datetime) -> datetime:
        """Return until when a drop-off can be moved or cancelled by the link; aware UTC."""
        return dropoff_at - timedelta(hours=self.until_hours)

    def kept_of(self, deposit: Money) -> Money:
        """Return what the shop keeps of a deposit that was paid."""
        return deposit.share(Decimal(self.deposit_kept_percent) / 100)


@dataclass(frozen=True, slots=True)
class DateRules(Table):
    """When customers are written to about a later date than the one they were told."""

    later_than_hours: Annotated[
        int,
        whole(0, 72),
        Label(
            Message("Write about a new date only if it is later by more than"),
            unit=Message("h"),
        ),
    ] = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Works(Table):
    """Who the works are. `promise_percent` is the share of promises that must hold."""

    practice: Annotated[WorkRules, Label(Message("Rules"))]
    name: Annotated[Needed, Label(Message("Name"))]
    address: Annotated[
        tuple[Line, ...], longest(6), Label(Message("Address, one line per row"), long=True)
    ] = ()
    phone: Annotated[Needed, Label(Message("Phone"))]
    email: Annotated[Needed, Label(Message("E-mail"))]
    locale: Annotated[Text, longest(8), Label(Message("Language"))] = "en"
    promise_percent: Annotated[
        int, whole(50, 99), Label(Message("Promises to keep, in percent"), unit="%")
    ] = 95
    inspection_rule: Annotated[InspectionRule, Label(Message("Rule for film thickness"))] = (
        InspectionRule.QUALITY_LABEL
    )
    handling_note: Annotated[
        Text, longest(300), Label(Message("Drop-off instructions"), long=True)
    ] = ""
    keeping: Annotated[
        KeepRules, Label(Message("Parts that nobody collects: at most three reminders"))
    ] = field(default_factory=KeepRules)
    changes: Annotated[ChangeRules, Label(Message("Changes by the customer"))] = field(
        default_factory=ChangeRules
    )
    dates: Annotated[DateRules, Label(Message("Letters about a new date"))] = field(
        default_factory=DateRules
    )


@dataclass(frozen=True, slots=True)
class WorksPlace(Table):
    """The country where the works are, and what the shop decided where a rule is against a job."""

    country: Annotated[Text, AfterValidator(_country), Label(Message("Country"))]
    decision: Annotated[
        Text,
        longest(500),
        AfterValidator(str.strip),
        Label(Message("Our decision where a rule in this country is against a job"), long=True),
    ] = ""
    abroad: Annotated[
        Text,
        longest(500),
        AfterValidator(str.strip),
        Label(
            Message("Our decision where the vehicle is registered in another country"), long=True
        ),
    ] = ""
