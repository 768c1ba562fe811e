"""The invoice of a month: its draft, its issue, what is paid on it, and how it is put right."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import blake2s

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.letters import FirmInvoiceLetter, FirmReminder, sender_of
from portal.notices.outbox import queue
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Already, Overtaken, Refused, Unknown
from portal.orders.kernel.firms import firm_row
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.invoice_paper import NO_PAPER
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.ledger import accounts_of
from portal.orders.kernel.month_invoice import (
    Billable,
    billable,
    cancel_whole,
    issue_month,
    month_document,
    over_on,
    shares_left,
)
from portal.orders.kernel.posting import post_payment, post_reversal
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.invoicing.document import InvoiceDocument
from portal.shop.money import Money
from portal.shop.states import PaymentMethod
from portal.shop.verbs import AuditVerb
from portal.store.tables import (
    Firm,
    FirmInvoice,
    FirmPayment,
    FirmPaymentEntry,
    Invoice,
    LedgerEntry,
)

NOTHING = Message("Nothing of this month waits for an invoice.")
LONGEST_REASON = 200


@dataclass(frozen=True, slots=True)
class MonthLine:
    """One job on the draft."""

    code: str
    summary: Message
    day: date
    total: Money


@dataclass(frozen=True, slots=True)
class MonthDraft:
    """What an invoice of a month would say. `stamp` names its jobs and sums for the last button."""

    firm_id: int
    name: str
    month: date
    last_day: date
    lines: tuple[MonthLine, ...]
    total: Money
    due: Money
    due_on: date | None
    is_over: bool
    stamp: str


@read_only
def month_draft(unit: UnitOfWork, session: Session, firm_id: int, month: date) -> MonthDraft:
    """Return the draft of a month, named by its first day; Unknown without such a firm."""
    shop, firm = unit.shop(session), firm_row(session, firm_id)
    last = last_day(month)
    found = billable(session, firm_id, last, shop)
    document = month_document(unit, session, firm, found) if found else None
    total = sum(one.minor for one in found)
    return MonthDraft(
        firm_id=firm_id,
        name=firm.name,
        month=month,
        last_day=last,
        lines=tuple(
            MonthLine(
                one.job.code,
                one.job.summary,
                over_on(one.job, shop),
                Money(one.minor, one.job.currency),
            )
            for one in found
        ),
        total=Money(total, shop.currency),
        due=Money(document.due if document else 0, shop.currency),
        due_on=document.due_on if document else None,
        is_over=last < shop.day(unit.now()),
        stamp=_stamp(found),
    )


@transactional
@idempotent("issue_month", answer="number")
def issue(
    unit: UnitOfWork,
    session: Session,
    firm_id: int,
    month: date,
    *,
    stamp: str,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> str:
    """Issue the invoice of a month as its draft showed it, tell the firm, and return its number.

    Raise Refused where nothing waits, Overtaken where the draft is no longer what was shown.
    """
    shop, firm = unit.shop(session), firm_row(session, firm_id)
    _lock(session, [one.job.id for one in billable(session, firm_id, last_day(month), shop)])
    found = billable(session, firm_id, last_day(month), shop)
    if not found:
        raise Refused(NOTHING)
    if _stamp(found) != stamp:
        raise Overtaken(Message("Jobs or sums have changed. Check the draft, then issue it."))
    row, document = issue_month(unit, session, firm, found, who=who)
    month_row = FirmInvoice(
        invoice_id=row.id,
        firm_id=firm_id,
        first_day=month,
        last_day=last_day(month),
        due_on=document.due_on or document.issued_on,
    )
    session.add(month_row)
    session.flush()
    _tell(unit, session, firm, row, document, jobs=len(found))
    record(session, unit.now(), who, AuditVerb.ISSUE_MONTH, f"{row.number}, {firm.name}")
    return row.number


@transactional
@idempotent("pay_month")
def pay(
    unit: UnitOfWork,
    session: Session,
    number: str,
    minor: int,
    how: PaymentMethod,
    *,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> None:
    """Record money for an invoice: on the accounts of its jobs, in their order.

    Raise Refused for more than is open.
    """
    invoice, _month = _found(session, number)
    owed = _open_of(session, invoice)
    total = sum(owed.values())
    if not 0 < minor <= total:
        sentence = Message(
            "Enter a sum up to {open}: no more is open of this invoice.",
            open=Money(total, invoice.currency),
        )
        raise Refused(sentence, key="amount")
    payment = FirmPayment(
        invoice_id=invoice.id, how=how, amount_minor=minor, at=unit.now(), person_id=who
    )
    session.add(payment)
    session.flush()
    left = minor
    for job_id, open_minor in owed.items():
        share = min(left, open_minor)
        if share:
            job = lock_job(session, job_id)
            entry_id = post_payment(unit, session, job, share, how, who=who)
            session.add(FirmPaymentEntry(entry_id=entry_id, payment_id=payment.id))
            left -= share
    record(session, unit.now(), who, AuditVerb.PAY_MONTH, _said(invoice, minor))


@transactional
@idempotent("unpay_month")
def reverse_payment(
    unit: UnitOfWork,
    session: Session,
    payment_id: int,
    reason: str,
    *,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> None:
    """Reverse what still stands of a payment, on the account of every job that it went to."""
    payment = session.get(FirmPayment, payment_id)
    if payment is None:
        raise Unknown(Message("We can't find this entry."))
    entries = entries_of(session, [payment_id])[payment_id]
    accounts = accounts_of(session, [job_id for _entry, job_id in entries])
    standing = [
        (entry_id, job_id)
        for entry_id, job_id in entries
        if entry_id not in accounts[job_id].reversed_ids
    ]
    if not standing:
        raise Already(Message("This entry was already reversed."))
    for entry_id, job_id in standing:
        post_reversal(unit, session, lock_job(session, job_id), entry_id, reason, who=who)
    invoice = session.get_one(Invoice, payment.invoice_id)
    said = _said(invoice, payment.amount_minor)
    record(session, unit.now(), who, AuditVerb.UNPAY_MONTH, said)


@transactional
@idempotent("cancel_month", answer="number")
def cancel(
    unit: UnitOfWork,
    session: Session,
    number: str,
    reason: str,
    *,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> str:
    """Take back an invoice by a credit note and return its number; its jobs wait for a new one."""
    why = " ".join(reason.split())[:LONGEST_REASON]
    if not why:
        raise Refused(Message("Enter the reason. It stands on the credit note."), key="reason")
    invoice, _month = _found(session, number)
    _lock(session, shares_left(session, invoice))
    made = cancel_whole(unit, session, invoice, Message("{why}", why=why), who=who)
    if made is None:
        raise Already(Message("This invoice was cancelled already."))
    record(session, unit.now(), who, AuditVerb.CANCEL_MONTH, f"{invoice.number} → {made.number}")
    return made.number


@transactional
@idempotent("remind_firm")
def remind(
    unit: UnitOfWork,
    session: Session,
    number: str,
    *,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> None:
    """Write to a firm that an invoice is not paid; once a day at most. Raise Refused otherwise."""
    invoice, month = _found(session, number)
    firm, shop = firm_row(session, month.firm_id), unit.shop(session)
    owed = sum(_open_of(session, invoice).values())
    today = shop.day(unit.now())
    if not owed or month.due_on >= today:
        raise Refused(Message("This invoice is not overdue."))
    letter = FirmReminder(
        sender=sender_of(shop, firm.locale),
        locale=firm.locale,
        link=f"{unit.base_url}/firm",
        name=firm.contact or firm.name,
        number=invoice.number,
        owed=Money(owed, invoice.currency),
        due_on=month.due_on,
    )
    new = queue(
        session,
        letter,
        job_id=None,
        cause=f"invoice:{invoice.id}:{today:%Y%m%d}",
        to=firm.email,
        at=unit.now(),
        random_bytes=unit.random_bytes,
    )
    if not new:
        raise Already(Message("This firm was reminded today."))
    record(session, unit.now(), who, AuditVerb.REMIND_FIRM, f"{invoice.number}, {firm.name}")


def last_day(month: date) -> date:
    """Return the last day of a month."""
    return (month.replace(day=28) + timedelta(days=4)).replace(day=1) - timedelta(days=1)


def entries_of(session: Session, payment_ids: Sequence[int]) -> dict[int, list[tuple[int, int]]]:
    """Return the shares of payments, as entry and job, in the order in which they were posted."""
    query = (
        sa.select(FirmPaymentEntry.payment_id, LedgerEntry.id, LedgerEntry.job_id)
        .join(LedgerEntry, LedgerEntry.id == FirmPaymentEntry.entry_id)
        .where(FirmPaymentEntry.payment_id.in_(payment_ids))
        .order_by(LedgerEntry.id)
    )
    found: dict[int, list[tuple[int, int]]] = {one: [] for one in payment_ids}
    for payment_id, entry_id, job_id in session.execute(query):
        found[payment_id].append((entry_id, job_id))
    return found


def _tell(  # a letter says this many things
    unit: UnitOfWork,
    session: Session,
    firm: Firm,
    row: Invoice,
    document: InvoiceDocument,
    *,
    jobs: int,
) -> None:
    letter = FirmInvoiceLetter(
        sender=sender_of(unit.shop(session), firm.locale),
        locale=firm.locale,
        link=f"{unit.base_url}/firm",
        name=firm.contact or firm.name,
        number=row.number,
        jobs=jobs,
        total=document.money(document.charged),
        due_on=document.due_on or document.issued_on,
    )
    queue(
        session,
        letter,
        job_id=None,
        cause=f"invoice:{row.id}",
        to=firm.email,
        at=unit.now(),
        random_bytes=unit.random_bytes,
    )


def _found(session: Session, number: str) -> tuple[Invoice, FirmInvoice]:
    query = (
        sa.select(Invoice, FirmInvoice)
        .join(FirmInvoice, FirmInvoice.invoice_id == Invoice.id)
        .where(Invoice.number == number)
    )
    found = session.execute(query).first()
    if found is None:
        raise Unknown(NO_PAPER)
    return found[0], found[1]


def _open_of(session: Session, invoice: Invoice) -> dict[int, int]:
    """Return what each job of an invoice still owes of it, in minor units, in their order."""
    left = shares_left(session, invoice)
    accounts = accounts_of(session, left)
    return {job_id: min(minor, accounts[job_id].to_pay.minor) for job_id, minor in left.items()}


def _lock(session: Session, job_ids: Iterable[int]) -> None:
    """Lock jobs in the order of their numbers, so that two who do it never wait in a circle."""
    for job_id in sorted(job_ids):
        lock_job(session, job_id)


def _said(invoice: Invoice, minor: int) -> str:
    return f"{invoice.number}, {Money(minor, invoice.currency).plain} {invoice.currency}"


def _stamp(found: Sequence[Billable]) -> str:
    listed = ",".join(f"{one.job.id}:{one.minor}" for one in found)
    return blake2s(listed.encode(), digest_size=10).hexdigest()
