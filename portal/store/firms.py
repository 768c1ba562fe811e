"""Trade customers: their data, prices, links to their page, lists in the making, and payments."""

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from portal.craft.parts import Bringing
from portal.shop.states import PaymentMethod
from portal.store.base import Base


class Firm(Base):
    """A garage, or another firm that pays by the month.

    `code` is its number in the office's own books, `party` to whom its invoices are made out
    (shop.invoicing.document.Party). `bringing` and `fetched` are its standing way. It may owe
    `limit_minor`; None is no limit.
    """

    __tablename__ = "firm"
    __table_args__ = (
        sa.CheckConstraint("limit_minor IS NULL OR limit_minor >= 0", name="limit_not_negative"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(sa.String(20), default="")
    name: Mapped[str] = mapped_column(sa.String(120), index=True)
    contact: Mapped[str] = mapped_column(sa.String(120), default="")
    email: Mapped[str] = mapped_column(sa.String(254), index=True)
    phone: Mapped[str] = mapped_column(sa.String(24), default="")  # E.164
    locale: Mapped[str] = mapped_column(sa.String(8), default="en")
    party: Mapped[dict[str, Any]]
    bringing: Mapped[Bringing | None]
    fetched: Mapped[bool] = mapped_column(default=False)
    terms_days: Mapped[int]
    limit_minor: Mapped[int | None]
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]


class FirmPrice(Base):
    """The prices of a firm from a day on (shop.pricing.firm_prices); old rows stay."""

    __tablename__ = "firm_price"
    __table_args__ = (sa.Index("ix_firm_price_firm_from", "firm_id", "starts_on"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    firm_id: Mapped[int] = mapped_column(sa.ForeignKey("firm.id"))
    starts_on: Mapped[date]
    body: Mapped[dict[str, Any]]
    made_at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))


class FirmLink(Base):
    """A link that was sent to a firm; it opens the firm's page once, until it ends."""

    __tablename__ = "firm_link"

    id: Mapped[int] = mapped_column(primary_key=True)
    firm_id: Mapped[int] = mapped_column(sa.ForeignKey("firm.id"), index=True)
    key_hash: Mapped[str] = mapped_column(sa.String(64), unique=True)
    email: Mapped[str] = mapped_column(sa.String(254))
    created_at: Mapped[datetime]
    expires_at: Mapped[datetime] = mapped_column(index=True)
    used_at: Mapped[datetime | None]


class FirmSession(Base):
    """A browser in which a firm's page is open; the cookie holds the key, the row its SHA-256."""

    __tablename__ = "firm_session"

    key_hash: Mapped[str] = mapped_column(sa.String(64), primary_key=True)
    firm_id: Mapped[int] = mapped_column(sa.ForeignKey("firm.id"), index=True)
    created_at: Mapped[datetime]
    seen_at: Mapped[datetime]
    expires_at: Mapped[datetime] = mapped_column(index=True)


class FirmList(Base):
    """Orders that a firm enters together; one row for each.

    `slot` is the drop-off time that was chosen for all of them.
    """

    __tablename__ = "firm_list"

    id: Mapped[int] = mapped_column(primary_key=True)
    firm_id: Mapped[int] = mapped_column(sa.ForeignKey("firm.id"), index=True)
    name: Mapped[str] = mapped_column(sa.String(80), default="")
    rows: Mapped[list[Any]]
    slot: Mapped[datetime | None]
    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime]
    updated_at: Mapped[datetime] = mapped_column(index=True)
    booked_at: Mapped[datetime | None]


class FirmInvoice(Base):
    """An invoice over a firm's jobs of a month: whose, for which days, when it is to be paid."""

    __tablename__ = "firm_invoice"

    invoice_id: Mapped[int] = mapped_column(sa.ForeignKey("invoice.id"), primary_key=True)
    firm_id: Mapped[int] = mapped_column(sa.ForeignKey("firm.id"), index=True)
    first_day: Mapped[date]
    last_day: Mapped[date]
    due_on: Mapped[date] = mapped_column(index=True)


class FirmPayment(Base):
    """Money that came in for a month's invoice; its shares are payments on the jobs' accounts."""

    __tablename__ = "firm_payment"

    id: Mapped[int] = mapped_column(primary_key=True)
    invoice_id: Mapped[int] = mapped_column(sa.ForeignKey("invoice.id"), index=True)
    how: Mapped[PaymentMethod]
    amount_minor: Mapped[int]
    at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))


class FirmPaymentEntry(Base):
    """The share of a payment that stands on one job's account."""

    __tablename__ = "firm_payment_entry"

    entry_id: Mapped[int] = mapped_column(sa.ForeignKey("ledger_entry.id"), primary_key=True)
    payment_id: Mapped[int] = mapped_column(sa.ForeignKey("firm_payment.id"), index=True)
