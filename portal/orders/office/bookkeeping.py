"""Two tables for a bookkeeper: what was charged, by document and rate; what was paid, by way.

Sums, days and names alone: no minor units, no ids, no links and no pickup codes.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.invoice_rows import document_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.codes import shown
from portal.shop.invoicing.document import InvoiceDocument, InvoiceKind, Party
from portal.shop.invoicing.settings import Accounts
from portal.shop.ledger import MONEY, EntryKind
from portal.shop.money import Money
from portal.shop.shop import Shop
from portal.shop.states import PaymentMethod
from portal.store.tables import (
    Customer,
    Invoice,
    InvoiceBuyer,
    Job,
    LedgerEntry,
    TillClosing,
    TillEntry,
)

FURTHEST = timedelta(days=3 * 366)


@dataclass(frozen=True, slots=True)
class SalesRow:
    """One rate of one document. What takes back, or is set off, is below zero."""

    number: str
    day: date
    codes: str
    name: str
    kind: InvoiceKind
    percent: Decimal
    net: Money
    tax: Money
    gross: Money
    ways: tuple[PaymentMethod, ...]
    account: str
    refers_to: str = ""


@dataclass(frozen=True, slots=True)
class MoneyRow:
    """One payment; what was given back is below zero. `closing` is the till's that took it in."""

    day: date
    code: str
    name: str
    kind: EntryKind
    way: PaymentMethod
    amount: Money
    account: str
    reason: str
    closing: int | None


@read_only
def sales(unit: UnitOfWork, session: Session, first: date, last: date) -> tuple[SalesRow, ...]:
    """Return what was charged from `first` to `last`, both in the shop's zone."""
    shop = unit.shop(session)
    start, end = _span(shop, first, last)
    query = (
        sa.select(Invoice, InvoiceBuyer.party)
        .outerjoin(InvoiceBuyer, InvoiceBuyer.invoice_id == Invoice.id)
        .where(Invoice.issued_at >= start, Invoice.issued_at < end)
        .order_by(Invoice.id)
    )
    return tuple(
        row
        for invoice, party in session.execute(query)
        for row in _sales_of(document_of(invoice), party, shop.invoicing.accounts)
    )


@read_only
def payments(unit: UnitOfWork, session: Session, first: date, last: date) -> tuple[MoneyRow, ...]:
    """Return what was paid and given back from `first` to `last`."""
    shop = unit.shop(session)
    start, end = _span(shop, first, last)
    query = (
        sa.select(LedgerEntry, Job.code, Job.currency, Customer.name, TillClosing.number)
        .join(Job, Job.id == LedgerEntry.job_id)
        .join(Customer, Customer.id == Job.customer_id)
        .outerjoin(TillEntry, TillEntry.entry_id == LedgerEntry.id)
        .outerjoin(TillClosing, TillClosing.id == TillEntry.closing_id)
        .where(LedgerEntry.kind.in_(tuple(MONEY)))
        .where(LedgerEntry.at >= start, LedgerEntry.at < end)
        .order_by(LedgerEntry.at, LedgerEntry.id)
    )
    return tuple(
        MoneyRow(
            day=shop.day(entry.at),
            code=shown(code),
            name=name,
            kind=entry.kind,
            way=entry.how,
            amount=Money(-entry.amount_minor, currency),
            account=account_of(shop.invoicing.accounts, entry.how),
            reason=entry.reason,
            closing=closing,
        )
        for entry, code, currency, name, closing in session.execute(query)
        if entry.how is not None
    )


def account_of(accounts: Accounts, way: PaymentMethod) -> str:
    """Return the bookkeeper's account of a way of payment."""
    return {
        PaymentMethod.CASH: accounts.cash,
        PaymentMethod.CARD: accounts.card,
        PaymentMethod.TRANSFER: accounts.transfer,
    }[way]


def _sales_of(
    document: InvoiceDocument, party: dict[str, str] | None, accounts: Accounts
) -> Iterator[SalesRow]:
    name = reading.read(Party, party).name if party else ""
    sign = -1 if document.kind is InvoiceKind.CREDIT_NOTE else 1
    ways = tuple(dict.fromkeys(one.way for one in document.paid))
    ahead = document.kind is InvoiceKind.DEPOSIT

    def row(
        percent: Decimal, net: int, tax: int, gross: int, account: str, refers_to: str
    ) -> SalesRow:
        return SalesRow(
            number=document.number,
            day=document.issued_on,
            codes=", ".join(document.jobs),
            name=name,
            kind=document.kind,
            percent=percent,
            net=document.money(net),
            tax=document.money(tax),
            gross=document.money(gross),
            ways=ways,
            account=account,
            refers_to=refers_to,
        )

    for one in document.taxes:
        net, gross = one.net + one.rounding, one.gross + one.rounding
        account = accounts.deposits if ahead else accounts.sales
        yield row(
            one.percent, sign * net, sign * one.tax, sign * gross, account, document.refers_to
        )
    for off in document.set_off:
        # the tax of a payment in advance was in its own receipt, and is not due twice
        yield row(
            off.percent,
            -sign * off.net,
            -sign * off.tax,
            -sign * off.gross,
            accounts.deposits,
            off.number,
        )


def _span(shop: Shop, first: date, last: date) -> tuple[datetime, datetime]:
    if last < first or last - first > FURTHEST:
        raise Refused(Message("Choose a first day before the last, at most three years apart."))
    after = last + timedelta(days=1)
    return shop.week.moment(first, time(0)), shop.week.moment(after, time(0))
