"""One receipt, invoice, deposit receipt or credit note, as it was issued; it never changes.

It may cover several jobs. Sums are minor units of `currency`. Who the buyer is stands apart, so
that a name can be erased once the law no longer asks for it.
"""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Annotated, Any

from pydantic import BeforeValidator, ConfigDict, PlainSerializer

from portal.craft.message_json import from_json, to_json
from portal.craft.messages import Message
from portal.craft.schema import Table
from portal.craft.titled import Titled
from portal.shop.invoicing.settings import Bank
from portal.shop.invoicing.sums import TaxedSum
from portal.shop.money import Money
from portal.shop.states import PaymentMethod


class InvoiceKind(Titled):
    """What a document is."""

    INVOICE = "invoice", "Invoice"
    RECEIPT = "receipt", "Receipt"  # an invoice that doesn't name the buyer's address
    DEPOSIT = "deposit", "Payment receipt"  # of a payment in advance
    CREDIT_NOTE = "credit_note", "Credit note"


# where the postcode stands behind the town (common practice of their posts)
POSTCODE_LAST = frozenset({"GB", "IE", "US", "CA", "AU", "NZ", "IN", "ZA", "SG", "MT"})


def _message(value: Any) -> Message:
    return value if isinstance(value, Message) else from_json(value)


Said = Annotated[Message, BeforeValidator(_message), PlainSerializer(to_json)]


class DocumentTable(Table):
    """A table that may hold messages."""

    __slots__ = ()
    __pydantic_config__ = ConfigDict(extra="forbid", arbitrary_types_allowed=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Party(DocumentTable):
    """A seller or a buyer. `country` is ISO 3166; `reference` is the buyer's own order number."""

    name: str
    street: str = ""
    postcode: str = ""
    city: str = ""
    country: str = ""
    vat_number: str = ""
    tax_number: str = ""
    company_number: str = ""
    about: str = ""
    phone: str = ""
    email: str = ""
    reference: str = ""

    @property
    def town(self) -> str:
        """Town and postcode in the order of the country."""
        parts = (self.postcode, self.city)
        return " ".join(filter(None, reversed(parts) if self.country in POSTCODE_LAST else parts))

    @property
    def has_address(self) -> bool:
        """Whether an invoice may be made out to it."""
        return bool(self.name and self.street and self.city and self.country)


@dataclass(frozen=True, slots=True, kw_only=True)
class InvoiceLine(DocumentTable):
    """What was done, and what it costs.

    `listed` is the price as the price list writes it: with the tax in inclusive mode, without it
    otherwise. A discount is negative.
    """

    job: str
    says: Said
    count: int = 1
    listed: int
    net: int
    percent: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class SetOff(DocumentTable):
    """A deposit receipt whose sum, and the tax in it, is taken off."""

    number: str
    issued_on: date
    net: int
    tax: int
    percent: Decimal = Decimal(0)

    @property
    def gross(self) -> int:
        """What was paid with it."""
        return self.net + self.tax


@dataclass(frozen=True, slots=True, kw_only=True)
class PaidSum(DocumentTable):
    """What was paid before the document was issued, and how; a refund is negative."""

    day: date
    way: PaymentMethod
    amount: int


@dataclass(frozen=True, slots=True, kw_only=True)
class InvoiceDocument(DocumentTable):
    """The whole document but its buyer.

    `tax_inclusive` tells how lines are listed. `tax_shown` is False where a shop whose law asks
    for a tax number has none: then it is a receipt for money and proves no tax.
    """

    kind: InvoiceKind
    number: str
    issued_on: date
    supplied_on: date | None = None
    supplied_from: date | None = None
    currency: str
    language: str
    tax_name: str
    tax_inclusive: bool
    tax_shown: bool = True
    no_tax_because: str = ""
    seller: Party
    bank: Bank = field(default_factory=Bank)
    lines: tuple[InvoiceLine, ...]
    taxes: tuple[TaxedSum, ...]
    set_off: tuple[SetOff, ...] = ()
    paid: tuple[PaidSum, ...] = ()
    due_on: date | None = None
    terms: str = ""
    refers_to: str = ""
    refers_on: date | None = None
    reason: Said | None = None

    @property
    def net(self) -> int:
        """The sum without tax."""
        return sum(one.net for one in self.taxes)

    @property
    def tax(self) -> int:
        """The tax of all rates."""
        return sum(one.tax for one in self.taxes)

    @property
    def rounding(self) -> int:
        """What the norm's rounding of the tax leaves over of the agreed sum."""
        return sum(one.rounding for one in self.taxes)

    @property
    def gross(self) -> int:
        """Net and tax, without the rounding."""
        return self.net + self.tax

    @property
    def charged(self) -> int:
        """What was agreed with the customer."""
        return self.gross + self.rounding

    @property
    def prepaid(self) -> int:
        """What was paid before: deposits and the rest."""
        return sum(one.amount for one in self.paid)

    @property
    def due(self) -> int:
        """What is still to be paid; negative where the customer paid too much."""
        return self.charged - self.prepaid

    def money(self, minor: int) -> Money:
        """Return a sum of this document."""
        return Money(minor, self.currency)

    @property
    def jobs(self) -> tuple[str, ...]:
        """The codes of the jobs that it covers, each once."""
        return tuple(dict.fromkeys(line.job for line in self.lines if line.job))


def title_of(document: InvoiceDocument) -> Message:
    """Return what the document is called."""
    return Message("{kind} {number}", kind=document.kind, number=document.number)
