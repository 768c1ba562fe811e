"""A job's documents at the counter: shown, made out to a firm, and put right."""

from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.billing import billing_of, final_of, put_billing, refuse_if_issued
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.invoice_paper import (
    InvoicePaper,
    InvoiceRow,
    by_number,
    paper_of,
    rows_of,
)
from portal.orders.kernel.invoice_rows import invoices_of
from portal.orders.kernel.issuing import follow_account, reissue
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.codes import normalise, shown
from portal.shop.invoicing.compose import lacks_of
from portal.shop.invoicing.document import Party
from portal.shop.invoicing.rules import invoice_rules
from portal.shop.pricing.price_list import TaxMode
from portal.shop.shop import Shop
from portal.shop.verbs import AuditVerb
from portal.store.tables import Job

LONGEST_REASON = 200
MONTHLY = Message("This job is a firm's. Its invoices are put right on the firm's page.")


@dataclass(frozen=True, slots=True)
class JobReceipts:
    """A job's documents, the last one first.

    `final` is the number of the invoice that stands, `lacks` what the office must still fill in,
    `over` tells that the order ended, so that a document is due.
    """

    job_id: int
    code: str
    shown_code: str
    name: str
    rows: tuple[InvoiceRow, ...]
    buyer: Party | None
    final: str
    over: bool
    lacks: tuple[Message, ...]


@read_only
def receipts(unit: UnitOfWork, session: Session, code: str) -> JobReceipts:
    """Return the documents of a job; Unknown when there is none."""
    job = _job(session, code)
    final = final_of(session, job.id)
    return JobReceipts(
        job_id=job.id,
        code=job.code,
        shown_code=shown(job.code),
        name=job.customer.name,
        rows=rows_of(session, job.id),
        buyer=billing_of(session, job.customer_id),
        final=final.number if final else "",
        over=job.handed_back_at is not None and job.firm_id is None,
        lacks=lacks(unit.shop(session)),
    )


def lacks(shop: Shop) -> tuple[Message, ...]:
    """Return what the office must fill in so that documents are what the place's law wants."""
    taxes = shop.tariff.tax.mode is not TaxMode.NONE
    return lacks_of(shop.invoicing, invoice_rules(shop.country), taxes=taxes)


@read_only
def receipt(_unit: UnitOfWork, session: Session, code: str, number: str) -> InvoicePaper:
    """Return one document of a job."""
    job = _job(session, code)
    return paper_of(session, by_number(invoices_of(session, job.id), number))


@transactional
def make_out_to(
    _unit: UnitOfWork, session: Session, job_id: int, party: Party, *, who: int | None
) -> None:
    """Have a job's invoice made out to a firm or with an address, before it is issued."""
    job = lock_job(session, job_id)
    _refuse_if_monthly(job)
    refuse_if_issued(session, job)
    put_billing(session, job.customer_id, party)


@transactional
@idempotent("correct_invoice", answer="number")
def correct(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    party: Party,
    reason: str,
    *,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> str:
    """Take a job's invoice back by a credit note, and issue it anew to `party`.

    Return the number of the new one.
    """
    why = " ".join(reason.split())[:LONGEST_REASON]
    if not why:
        raise Refused(Message("Enter the reason. It stands on the credit note."), key="reason")
    job = lock_job(session, job_id)
    _refuse_if_monthly(job)
    final = final_of(session, job.id)
    if final is None:
        raise Refused(Message("This job has no invoice to put right."))

    put_billing(session, job.customer_id, party)
    made = reissue(unit, session, job, final, Message("{why}", why=why), who=who)
    record(session, unit.now(), who, AuditVerb.CORRECT_INVOICE, f"{final.number} → {made.number}")
    return made.number


@transactional
def issue_now(unit: UnitOfWork, session: Session, job_id: int, *, who: int | None) -> None:
    """Issue what is due for a job whose order ended before documents were kept."""
    job = lock_job(session, job_id)
    follow_account(unit, session, job, who=who)


def _refuse_if_monthly(job: Job) -> None:
    if job.firm_id is not None:
        raise Refused(MONTHLY)


def _job(session: Session, code: str) -> Job:
    job = session.scalar(sa.select(Job).where(Job.code == normalise(code)))
    if job is None:
        raise Unknown(Message("We can't find this job."))
    return job
