"""The invoice of a month: its draft, its issue, what is paid on it, and how it is put right."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import blake2s

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.firm_letters import FirmInvoiceLetter, FirmReminder
from portal.notices.outbox import queue
from portal.notices.sender import sender_of
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Already, Overtaken, Refused
from portal.orders.kernel.firms import firm_row
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.month_invoice import (
    Billable,
    billable,
    cancel_whole,
    issue_month,
    month_document,
    over_on,
    shares_left,
)
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.orders.office.month_payments import found_invoice, open_of
from portal.shop.invoicing.document import InvoiceDocument
from portal.shop.money import Money
from portal.shop.verbs import AuditVerb
from portal.store.tables import (
    Firm,
    FirmInvoice,
    Invoice,
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
    invoice, _month = found_invoice(session, number)
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
    invoice, month = found_invoice(session, number)
    firm, shop = firm_row(session, month.firm_id), unit.shop(session)
    owed = sum(open_of(session, invoice).values())
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


def _lock(session: Session, job_ids: Iterable[int]) -> None:
    """Lock jobs in the order of their numbers, so that two who do it never wait in a circle."""
    for job_id in sorted(job_ids):
        lock_job(session, job_id)


def _stamp(found: Sequence[Billable]) -> str:
    listed = ",".join(f"{one.job.id}:{one.minor}" for one in found)
    return blake2s(listed.encode(), digest_size=10).hexdigest()
