"""Documents for the tests: an invented works and its buyers."""

from datetime import date
from decimal import Decimal
from typing import Any

from portal.craft.messages import Message
from portal.shop.invoicing.compose import Charge, JobCharges, lines_and_taxes
from portal.shop.invoicing.document import (
    InvoiceDocument,
    InvoiceKind,
    PaidSum,
    Party,
)
from portal.shop.invoicing.settings import Bank
from portal.shop.states import PaymentMethod

# numbers with right check digits that nobody has, as their registries' manuals use them
SELLER = Party(
    name="Fennholt Coating Works", street="4 Kiln Lane", postcode="12345", city="Fennholt",
    country="DE", vat_number="DE123456788", phone="+441632960471", email="works@example.com",
)  # fmt: skip
BUYER = Party(name="Halden Garage", street="1 Mill Road", city="Halden", country="DE")
IBAN = "DE02120300000000202051"


def words(message: Message) -> str:
    return message.msgid.format(**message.values)


def work(*sums: int, percent: str = "19", inclusive: bool = True, code: str = "W9ND-EWHT"):
    charges = tuple(Charge(Message("Wheel: powder coated"), one, 4) for one in sums)
    listed = sum(sums)
    gross = listed if inclusive else listed + round(listed * Decimal(percent) / 100)
    return JobCharges(code, Decimal(percent), inclusive, charges, gross)


def paper(*jobs: JobCharges, **over: Any) -> InvoiceDocument:
    lines, taxes = lines_and_taxes(jobs)
    values: dict[str, Any] = {
        "kind": InvoiceKind.INVOICE,
        "number": "R2026-0001",
        "issued_on": date(2026, 11, 28),
        "supplied_on": date(2026, 11, 27),
        "currency": "EUR",
        "language": "en",
        "tax_name": "VAT",
        "tax_inclusive": True,
        "seller": SELLER,
        "bank": Bank(iban=IBAN),
        "lines": lines,
        "taxes": taxes,
        "due_on": date(2026, 12, 12),
    }
    return InvoiceDocument(**{**values, **over})


def paid(amount: int, way: PaymentMethod = PaymentMethod.CARD) -> PaidSum:
    return PaidSum(day=date(2026, 11, 20), way=way, amount=amount)
