"""Invoices of a month as the office sees them, and who owes what since when."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.invoice_paper import NO_PAPER, InvoicePaper, InvoiceRow, paper_of, row_of
from portal.orders.kernel.issuing import OVER
from portal.orders.kernel.ledger import OWED, accounts_of
from portal.orders.kernel.month_invoice import billable_of, over_on, shares_left
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.office.month_payments import entries_of, open_shares
from portal.shop.codes import shown
from portal.shop.money import Money
from portal.shop.shop import Shop
from portal.shop.states import PaymentMethod
from portal.store.tables import Customer, Firm, FirmInvoice, FirmPayment, Invoice, Job


@dataclass(frozen=True, slots=True)
class FirmInvoiceLine:
    """One invoice of a firm, and what of it is open."""

    number: str
    firm_id: int
    name: str
    first_day: date
    issued_at: datetime
    due_on: date
    total: Money
    open: Money
    cancelled: bool
    overdue: bool


@dataclass(frozen=True, slots=True)
class PaymentLine:
    """One payment of an invoice; `stands` is what of it was not reversed."""

    payment_id: int
    at: datetime
    how: PaymentMethod
    amount: Money
    stands: Money


@dataclass(frozen=True, slots=True)
class FirmInvoiceView:
    """One invoice of a month with its jobs, credit notes and payments."""

    line: FirmInvoiceLine
    jobs: tuple[tuple[str, Money], ...]
    credits: tuple[InvoiceRow, ...]
    payments: tuple[PaymentLine, ...]


@dataclass(frozen=True, slots=True)
class OwedLine:
    """What somebody owes: of a firm an invoice or what has none yet, else a job."""

    name: str
    sum: Money
    since: date
    due_on: date | None = None
    firm_id: int | None = None
    number: str = ""
    code: str = ""
    overdue: bool = False

    @property
    def shown_code(self) -> str:
        """The job's code in groups."""
        return shown(self.code)


def invoices_of_firm(
    session: Session, firm_id: int | None, today: date, number: str = ""
) -> tuple[FirmInvoiceLine, ...]:
    """Return the invoices of a firm, the newest first; of every firm without one."""
    query = (
        sa.select(Invoice, FirmInvoice, Firm.name)
        .join(FirmInvoice, FirmInvoice.invoice_id == Invoice.id)
        .join(Firm, Firm.id == FirmInvoice.firm_id)
        .order_by(Invoice.id.desc())
    )
    if firm_id is not None:
        query = query.where(FirmInvoice.firm_id == firm_id)
    if number:
        query = query.where(Invoice.number == number)
    rows = session.execute(query).all()
    open_ = open_shares(session, [invoice for invoice, _month, _name in rows])
    return tuple(_line(*row, open_[row[0].id], today) for row in rows)


@read_only
def firm_invoice(unit: UnitOfWork, session: Session, number: str) -> FirmInvoiceView:
    """Return one invoice of a month; Unknown where there is none of this number."""
    found = invoices_of_firm(session, None, unit.shop(session).day(unit.now()), number)
    if not found:
        raise Unknown(NO_PAPER)
    invoice = session.scalars(sa.select(Invoice).where(Invoice.number == number)).one()
    left = shares_left(session, invoice)
    rows = session.execute(sa.select(Job.id, Job.code).where(Job.id.in_(left)))
    codes = {row.id: row.code for row in rows}
    cancelling = sa.select(Invoice).where(Invoice.cancels_id == invoice.id).order_by(Invoice.id)
    return FirmInvoiceView(
        line=found[0],
        jobs=tuple((codes[one], Money(minor, invoice.currency)) for one, minor in left.items()),
        credits=tuple(row_of(one) for one in session.scalars(cancelling)),
        payments=_payments(session, invoice),
    )


@read_only
def paper_by_number(
    _unit: UnitOfWork, session: Session, number: str, *, firm_id: int | None = None
) -> InvoicePaper:
    """Return an invoice of a month, or a credit note over one, to print; of no other firm."""
    query = (
        sa.select(Invoice)
        .join(FirmInvoice, FirmInvoice.invoice_id.in_([Invoice.id, Invoice.cancels_id]))
        .where(Invoice.number == number)
    )
    if firm_id is not None:
        query = query.where(FirmInvoice.firm_id == firm_id)
    row = session.scalar(query)
    if row is None:
        raise Unknown(NO_PAPER)
    return paper_of(session, row)


@read_only
def who_owes(unit: UnitOfWork, session: Session) -> tuple[OwedLine, ...]:
    """Return what is owed for orders that ended, the longest owed first."""
    shop = unit.shop(session)
    today = shop.day(unit.now())
    found = [
        *_private(session, shop),
        *_by_invoice(session, shop, today),
        *_without_invoice(session, shop, today),
    ]
    return tuple(sorted(found, key=lambda one: (one.since, one.name)))


def _private(session: Session, shop: Shop) -> list[OwedLine]:
    query = (
        sa.select(Job, Customer.name, OWED)
        .join(Customer, Customer.id == Job.customer_id)
        .where(Job.firm_id.is_(None), Job.state.in_(OVER), OWED > 0)
    )
    return [
        OwedLine(
            name=name,
            sum=Money(int(minor), job.currency),
            since=over_on(job, shop),
            code=job.code,
        )
        for job, name, minor in session.execute(query)
    ]


def _by_invoice(session: Session, shop: Shop, today: date) -> list[OwedLine]:
    return [
        OwedLine(
            name=one.name,
            sum=one.open,
            since=shop.day(one.issued_at),
            due_on=one.due_on,
            firm_id=one.firm_id,
            number=one.number,
            overdue=one.overdue,
        )
        for one in invoices_of_firm(session, None, today)
        if one.open.minor > 0
    ]


def _without_invoice(session: Session, shop: Shop, today: date) -> list[OwedLine]:
    firms = session.scalars(sa.select(Firm)).all()
    billable = billable_of(session, [one.id for one in firms], today, shop)
    found = []
    for firm in firms:
        waiting = billable[firm.id]
        minor = sum(min(one.minor, one.account.to_pay.minor) for one in waiting)
        if minor > 0:
            since = min(over_on(one.job, shop) for one in waiting)
            sum_ = Money(minor, shop.currency)
            found.append(OwedLine(name=firm.name, sum=sum_, since=since, firm_id=firm.id))
    return found


def _line(
    invoice: Invoice, month: FirmInvoice, name: str, left: Mapping[int, int], today: date
) -> FirmInvoiceLine:
    """Return one line; `left` is what each job of the invoice owes of it."""
    open_minor = sum(left.values())
    return FirmInvoiceLine(
        number=invoice.number,
        firm_id=month.firm_id,
        name=name,
        first_day=month.first_day,
        issued_at=invoice.issued_at,
        due_on=month.due_on,
        total=Money(invoice.charged_minor, invoice.currency),
        open=Money(open_minor, invoice.currency),
        cancelled=not left,
        overdue=open_minor > 0 and month.due_on < today,
    )


def _payments(session: Session, invoice: Invoice) -> tuple[PaymentLine, ...]:
    query = sa.select(FirmPayment).where(FirmPayment.invoice_id == invoice.id)
    rows = session.scalars(query.order_by(FirmPayment.id)).all()
    entries = entries_of(session, [row.id for row in rows])
    jobs = {job_id for own in entries.values() for _entry, job_id in own}
    accounts = accounts_of(session, jobs)

    def stands(payment_id: int) -> int:
        standing = 0
        for entry_id, job_id in entries[payment_id]:
            entry = accounts[job_id].entry(entry_id)
            if entry is not None and accounts[job_id].can_reverse(entry):
                standing -= entry.amount.minor
        return standing

    return tuple(
        PaymentLine(
            payment_id=row.id,
            at=row.at,
            how=row.how,
            amount=Money(row.amount_minor, invoice.currency),
            stands=Money(stands(row.id), invoice.currency),
        )
        for row in rows
    )
