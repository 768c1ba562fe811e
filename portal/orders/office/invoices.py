"""The documents that were issued: found by number, job or name."""

from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.invoice_paper import InvoiceRow, row_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.codes import normalise, shown
from portal.store.tables import Customer, Invoice, InvoiceJob, Job

A_PAGE = 100


@dataclass(frozen=True, slots=True)
class FoundInvoice:
    """One document in the office's list, with its first job."""

    row: InvoiceRow
    code: str
    shown_code: str
    name: str


@read_only
def found(_unit: UnitOfWork, session: Session, typed: str) -> tuple[FoundInvoice, ...]:
    """Return the newest documents, or those whose number, job or customer's name is typed."""
    first_job = (
        sa.select(sa.func.min(InvoiceJob.job_id))
        .where(InvoiceJob.invoice_id == Invoice.id)
        .correlate(Invoice)
        .scalar_subquery()
    )
    query = (
        sa.select(Invoice, Job.code, Customer.name)
        .select_from(Invoice)
        .join(Job, Job.id == first_job)
        .join(Customer, Customer.id == Job.customer_id)
        .order_by(Invoice.id.desc())
        .limit(A_PAGE)
    )
    if typed:
        query = query.where(
            sa.or_(
                Invoice.number.icontains(typed, autoescape=True),
                Customer.name.icontains(typed, autoescape=True),
                Job.code == normalise(typed),
            )
        )
    return tuple(
        FoundInvoice(row_of(invoice), code, shown(code), name)
        for invoice, code, name in session.execute(query)
    )
