"""What is paid on an invoice of a month: put onto the accounts of its jobs, and reversed there."""

from collections.abc import Sequence

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Already, Refused, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.invoice_paper import NO_PAPER
from portal.orders.kernel.invoice_rows import shares_of
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.ledger import accounts_of
from portal.orders.kernel.posting import post_payment, post_reversal
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.money import Money
from portal.shop.states import PaymentMethod
from portal.shop.verbs import AuditVerb
from portal.store.tables import FirmInvoice, FirmPayment, FirmPaymentEntry, Invoice, LedgerEntry


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
    invoice, _month = found_invoice(session, number)
    owed = open_of(session, invoice)
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


def found_invoice(session: Session, number: str) -> tuple[Invoice, FirmInvoice]:
    """Return an invoice of a month by its number; Unknown where there is none."""
    query = (
        sa.select(Invoice, FirmInvoice)
        .join(FirmInvoice, FirmInvoice.invoice_id == Invoice.id)
        .where(Invoice.number == number)
    )
    found = session.execute(query).first()
    if found is None:
        raise Unknown(NO_PAPER)
    return found[0], found[1]


def open_of(session: Session, invoice: Invoice) -> dict[int, int]:
    """Return what each job of an invoice still owes of it, in minor units, in their order."""
    return open_shares(session, [invoice])[invoice.id]


def open_shares(session: Session, invoices: Sequence[Invoice]) -> dict[int, dict[int, int]]:
    """Return the same of several invoices by their number, in as many queries as of one."""
    left = shares_of(session, [one.id for one in invoices])
    accounts = accounts_of(session, {job_id for shares in left.values() for job_id in shares})
    return {
        invoice_id: {
            job_id: min(minor, accounts[job_id].to_pay.minor) for job_id, minor in shares.items()
        }
        for invoice_id, shares in left.items()
    }


def _said(invoice: Invoice, minor: int) -> str:
    return f"{invoice.number}, {Money(minor, invoice.currency).plain} {invoice.currency}"
