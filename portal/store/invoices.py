"""Issued documents, whom they were made out to, their numbers, and the closed tills.

What was issued or closed is only ever added (triggers refuse the rest). The buyer stands in a row
of its own, because a name is erased when the law no longer asks for it.
"""

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.shop.invoicing.document import InvoiceKind
from portal.store.base import Base


class NumberSeries(Base):
    """The last number of a series; it grows in the transaction that issues the document."""

    __tablename__ = "number_series"

    series: Mapped[str] = mapped_column(sa.String(16), primary_key=True)
    last: Mapped[int]


class Invoice(Base):
    """One receipt, invoice, payment receipt or credit note; sums in minor units, never negative.

    `body` is the document (shop.invoicing.document), `charged_minor` its gross sum with the
    rounding. `cancels_id` is what a credit note takes back, wholly or in part; `entry_id` the
    payment that a payment receipt is for.
    """

    __tablename__ = "invoice"
    __table_args__ = (
        sa.UniqueConstraint("series", "count"),
        sa.CheckConstraint("charged_minor >= 0", name="charged_minor_not_negative"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str] = mapped_column(sa.String(24), unique=True)
    series: Mapped[str] = mapped_column(sa.String(16))
    count: Mapped[int]
    kind: Mapped[InvoiceKind]
    issued_at: Mapped[datetime] = mapped_column(index=True)
    currency: Mapped[str] = mapped_column(sa.String(3))
    net_minor: Mapped[int]
    tax_minor: Mapped[int]
    charged_minor: Mapped[int]
    body: Mapped[dict[str, Any]]
    cancels_id: Mapped[int | None] = mapped_column(sa.ForeignKey("invoice.id"), index=True)
    entry_id: Mapped[int | None] = mapped_column(sa.ForeignKey("ledger_entry.id"), unique=True)
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))


class InvoiceJob(Base):
    """A job that a document covers, and its share in minor units; a credit's share is negative."""

    __tablename__ = "invoice_job"

    invoice_id: Mapped[int] = mapped_column(sa.ForeignKey("invoice.id"), primary_key=True)
    job_id: Mapped[int] = mapped_column(sa.ForeignKey("job.id"), primary_key=True, index=True)
    amount_minor: Mapped[int]


class InvoiceBuyer(Base):
    """Whom a document was made out to (shop.invoicing.document.Party); erased after `keep_until`.

    A receipt needs no name, so its row goes whenever its customer asks.
    """

    __tablename__ = "invoice_buyer"

    invoice_id: Mapped[int] = mapped_column(sa.ForeignKey("invoice.id"), primary_key=True)
    party: Mapped[dict[str, Any]]
    has_address: Mapped[bool]
    keep_until: Mapped[date] = mapped_column(index=True)


class Billing(Base):
    """To whom a customer's invoices are made out (shop.invoicing.document.Party)."""

    __tablename__ = "billing"

    customer_id: Mapped[int] = mapped_column(sa.ForeignKey("customer.id"), primary_key=True)
    party: Mapped[dict[str, Any]]


class TillClosing(Base):
    """The till as it was counted and closed; sums in minor units.

    `opening` was in it, `taken` came in cash since the closing before (of the first one: from
    `since` on), `counted` was found, `banked` was taken out. `takings` are the sums by way of
    payment and rate.
    """

    __tablename__ = "till_closing"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    day: Mapped[date] = mapped_column(index=True)
    since: Mapped[datetime]
    closed_at: Mapped[datetime]
    person_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"))
    currency: Mapped[str] = mapped_column(sa.String(3))
    opening_minor: Mapped[int]
    taken_minor: Mapped[int]
    counted_minor: Mapped[int]
    banked_minor: Mapped[int]
    reason: Mapped[str] = mapped_column(sa.String(300), default="")
    takings: Mapped[list[Any]]


class TillEntry(Base):
    """An entry of a job's account that a closing took in; each is in one closing at most."""

    __tablename__ = "till_entry"

    entry_id: Mapped[int] = mapped_column(sa.ForeignKey("ledger_entry.id"), primary_key=True)
    closing_id: Mapped[int] = mapped_column(sa.ForeignKey("till_closing.id"), index=True)
