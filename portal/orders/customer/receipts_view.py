"""The documents behind a customer's link, and to whom they are made out."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.billing import billing_of, final_of, put_billing, refuse_if_issued
from portal.orders.kernel.invoice_paper import (
    InvoicePaper,
    InvoiceRow,
    by_number,
    paper_of,
    rows_of,
)
from portal.orders.kernel.invoice_rows import invoices_of
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.codes import shown
from portal.shop.invoicing.document import Party
from portal.store.tables import Job


@dataclass(frozen=True, slots=True)
class Receipts:
    """A job's documents, the last one first. `issued` tells that its invoice is out."""

    token: str
    code: str
    summary: Message
    rows: tuple[InvoiceRow, ...]
    buyer: Party | None
    issued: bool


@read_only
def receipts(unit: UnitOfWork, session: Session, token: str) -> Receipts:
    """Return the documents behind a link; Unknown for a link that is none, or is over."""
    job: Job = behind(session, token, unit.now(), Job)[0]
    return Receipts(
        token=job.token,
        code=shown(job.code),
        summary=job.summary,
        rows=rows_of(session, job.id),
        buyer=billing_of(session, job.customer_id),
        issued=final_of(session, job.id) is not None,
    )


@read_only
def receipt(unit: UnitOfWork, session: Session, token: str, number: str) -> InvoicePaper:
    """Return one document behind a link."""
    job: Job = behind(session, token, unit.now(), Job)[0]
    return paper_of(session, by_number(invoices_of(session, job.id), number))


@transactional
def make_out_to(unit: UnitOfWork, session: Session, token: str, party: Party) -> None:
    """Have a job's invoice made out to a firm or with an address, before it is issued."""
    found: Job = behind(session, token, unit.now(), Job)[0]
    job = lock_job(session, found.id)
    refuse_if_issued(session, job)
    put_billing(session, job.customer_id, party)
