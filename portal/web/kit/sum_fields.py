"""Form pieces of money: a sum of the job's currency, and buttons that say what they record.

A button's value is what it says: "card:33600". It counts only where that is the sum in the field,
so that no sum is recorded under words that told of another one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from flask import request
from flask_babel import lazy_gettext as _l
from wtforms.validators import StopValidation

from portal.shop.ledger import EntryKind
from portal.shop.money import Money, TooFine, digits_of
from portal.shop.states import PaymentMethod
from portal.web.kit.forms import MeasureField
from portal.web.kit.i18n.languages import amount

MOST = Decimal(1_000_000_000)
WAYS: Mapping[str, Any] = {
    PaymentMethod.CARD: _l("%(sum)s by card"),
    PaymentMethod.CASH: _l("%(sum)s in cash"),
    PaymentMethod.TRANSFER: _l("%(sum)s by bank transfer"),
}
GIVEN_BACK: Mapping[str, Any] = {
    PaymentMethod.CARD: _l("%(sum)s back by card"),
    PaymentMethod.CASH: _l("%(sum)s back in cash"),
    PaymentMethod.TRANSFER: _l("%(sum)s back by bank transfer"),
}
TAKEN_OFF: Mapping[str, Any] = {
    EntryKind.DISCOUNT: _l("%(sum)s off as a discount"),
    EntryKind.GOODWILL: _l("%(sum)s off as goodwill"),
}
SLOT = "\N{OBJECT REPLACEMENT CHARACTER}"


class SumField(MeasureField):
    """A sum of money, shown with the decimals of its currency; `currency` is set by the page."""

    currency = "GBP"

    def __init__(self, label: Any = None, validators: Sequence[Any] = (), **kwargs: Any) -> None:
        super().__init__(label, validators, high=kwargs.pop("high", MOST), **kwargs)

    @property
    def money(self) -> Money:
        """The sum; nothing is 0."""
        return Money.of(self.data or Decimal(0), self.currency)

    def pre_validate(self, form: Any) -> None:
        """Refuse what no coin can pay."""
        if self.data is None:
            return
        try:
            Money.of(self.data, self.currency)
        except TooFine:
            raise StopValidation(self._too_fine()) from None

    def _too_fine(self) -> Any:
        digits = digits_of(self.currency)
        if not digits:
            return _l("Enter a whole sum: %(currency)s has no decimals.", currency=self.currency)
        return _l("Enter a sum with at most %(digits)s decimals.", digits=digits)

    def _value(self) -> str:
        if self.raw_data:
            return str(self.raw_data[0])
        return "" if self.data is None else f"{self.data:.{digits_of(self.currency)}f}"


@dataclass(frozen=True, slots=True)
class SumButton:
    """A button that records a sum; `says` has a slot for another one, for the script."""

    value: str
    label: str
    says: str


def sum_buttons(
    words: Mapping[str, Any], sum_: Money, *, confirms: bool = False
) -> list[SumButton]:
    """Return a button for each way; one that `confirms` lets more count than is owed."""
    more = ":more" if confirms else ""
    return [
        SumButton(
            value=f"{key}:{sum_.minor}{more}",
            label=str(text) % {"sum": amount(sum_)},
            says=str(text) % {"sum": SLOT},
        )
        for key, text in words.items()
    ]


@dataclass(frozen=True, slots=True)
class Pressed:
    """The button that was pressed: its way, and whether it confirms more than is owed."""

    way: str
    minor: int
    confirms: bool


def pressed(field: SumField) -> Pressed | None:
    """Return the pressed button; None where it said another sum than stands in the field."""
    way, _, rest = request.form.get("record", "").partition(":")
    minor, _, more = rest.partition(":")
    if not minor.isdecimal() or len(minor) > 12 or int(minor) != field.money.minor:
        return None
    return Pressed(way, int(minor), confirms=more == "more")
