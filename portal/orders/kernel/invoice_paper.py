"""An issued document as it is shown and printed: for its customer and for the office."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.invoice_rows import buyer_of, document_of, invoices_of
from portal.shop.invoicing.document import InvoiceDocument, InvoiceKind, Party
from portal.shop.invoicing.norm import has_norm
from portal.shop.invoicing.transfer_code import transfer_code
from portal.shop.money import Money
from portal.store.tables import Invoice

NO_PAPER = Message("We can't find this document.")


@dataclass(frozen=True, slots=True)
class InvoicePaper:
    """One document with its buyer; `cancelled_by` is the credit note over all of it."""

    document: InvoiceDocument
    buyer: Party
    cancelled_by: str = ""
    copy: bool = False

    @property
    def has_norm(self) -> bool:
        """Whether it can be had as a structured invoice."""
        return has_norm(self.document, self.buyer)

    @property
    def transfer_code(self) -> str | None:
        """What a bank's app reads to fill in the transfer."""
        doc = self.document
        due = doc.money(doc.due).major
        if doc.kind is InvoiceKind.CREDIT_NOTE or self.cancelled_by:
            return None
        return transfer_code(doc.bank, doc.seller.name, due, doc.currency, doc.number)

    @property
    def file_name(self) -> str:
        """Its number as the name of a file."""
        return "".join(ch if ch.isalnum() or ch in "-_." else "-" for ch in self.document.number)


@dataclass(frozen=True, slots=True)
class InvoiceRow:
    """One document in a list."""

    number: str
    kind: InvoiceKind
    issued_at: datetime
    charged: Money
    cancels: bool


def paper_of(session: Session, row: Invoice) -> InvoicePaper:
    """Return a document as it is printed."""
    whole = sa.select(Invoice.number).where(
        Invoice.cancels_id == row.id, Invoice.charged_minor == row.charged_minor
    )
    return InvoicePaper(
        document=document_of(row),
        buyer=buyer_of(session, row.id),
        cancelled_by=session.scalar(whole.limit(1)) or "",
    )


def rows_of(session: Session, job_id: int) -> tuple[InvoiceRow, ...]:
    """Return the documents of a job, the last one first."""
    return tuple(row_of(one) for one in reversed(invoices_of(session, job_id)))


def row_of(one: Invoice) -> InvoiceRow:
    """Return a document as a list shows it; a credit note's sum is below zero."""
    cancels = one.kind is InvoiceKind.CREDIT_NOTE
    minor = -one.charged_minor if cancels else one.charged_minor
    return InvoiceRow(one.number, one.kind, one.issued_at, Money(minor, one.currency), cancels)


def by_number(found: Sequence[Invoice], number: str) -> Invoice:
    """Return the document with this number; Unknown when it isn't among them."""
    for one in found:
        if one.number.casefold() == number.strip().casefold():
            return one
    raise Unknown(NO_PAPER)
