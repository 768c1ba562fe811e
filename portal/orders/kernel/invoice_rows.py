"""Rows of issued documents: the next number of a series, and a document put down for good."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session, aliased

from portal.craft import reading
from portal.orders.kernel.firms import firm_row, party_of
from portal.shop.invoicing.document import InvoiceDocument, InvoiceKind, Party
from portal.shop.invoicing.numbers import number_of, series_of
from portal.shop.invoicing.rules import invoice_rules
from portal.shop.shop import Shop
from portal.store.tables import Billing, Invoice, InvoiceBuyer, InvoiceJob, Job, NumberSeries

YEAR = timedelta(days=366)
# they charge for work that was done
FINAL = frozenset({InvoiceKind.INVOICE, InvoiceKind.RECEIPT})


@dataclass(frozen=True, slots=True)
class Occasion:
    """When a document is issued and by whom; what it cancels, or the payment that it is for."""

    at: datetime
    who: int | None
    cancels: Invoice | None = None
    entry_id: int | None = None


def put_invoice(
    session: Session,
    document: InvoiceDocument,
    buyer: Party,
    shares: Mapping[int, int],
    shop: Shop,
    occasion: Occasion,
) -> Invoice:
    """Give a document the next number of its series and store it.

    `shares` are the sums of the jobs that it covers, by the job's id. The number is taken in the
    caller's transaction: it is there with the document, or neither is.
    """
    numbers = shop.invoicing.numbers
    series = series_of(document.kind, numbers, document.issued_on)
    count = _next(session, series, numbers.first)
    numbered = replace(document, number=number_of(series, count, numbers))
    sign = -1 if occasion.cancels else 1
    row = Invoice(
        number=numbered.number,
        series=series,
        count=count,
        kind=numbered.kind,
        issued_at=occasion.at,
        currency=numbered.currency,
        net_minor=numbered.net,
        tax_minor=numbered.tax,
        charged_minor=numbered.charged,
        body=reading.write(numbered),
        cancels_id=occasion.cancels.id if occasion.cancels else None,
        entry_id=occasion.entry_id,
        person_id=occasion.who,
    )
    session.add(row)
    session.flush()
    session.add_all(
        InvoiceJob(invoice_id=row.id, job_id=job_id, amount_minor=sign * amount)
        for job_id, amount in shares.items()
    )
    kept_until = numbered.issued_on + invoice_rules(shop.country).years * YEAR
    session.add(
        InvoiceBuyer(
            invoice_id=row.id,
            party=reading.write(buyer),
            has_address=buyer.has_address,
            keep_until=kept_until,
        )
    )
    session.flush()
    return row


def document_of(row: Invoice) -> InvoiceDocument:
    """Return a document as it was issued."""
    return reading.read(InvoiceDocument, row.body)


def buyer_of(session: Session, invoice_id: int) -> Party:
    """Return whom a document was made out to; one without a name once it was erased."""
    row = session.get(InvoiceBuyer, invoice_id)
    return reading.read(Party, row.party) if row is not None else Party(name="")


def buyer_for(session: Session, job: Job) -> Party:
    """Return whom a job's documents are made out to: its firm, or as its customer asked.

    Else by name alone.
    """
    if job.firm_id is not None:
        return party_of(firm_row(session, job.firm_id))
    row = session.get(Billing, job.customer_id)
    if row is not None:
        return reading.read(Party, row.party)
    return Party(name=job.customer.name)


def invoices_of(session: Session, job_id: int) -> Sequence[Invoice]:
    """Return the documents that cover a job, the first one first."""
    query = (
        sa.select(Invoice)
        .join(InvoiceJob, InvoiceJob.invoice_id == Invoice.id)
        .where(InvoiceJob.job_id == job_id)
        .order_by(Invoice.id)
    )
    return session.scalars(query).all()


def standing(session: Session, invoice: Invoice, job_id: int) -> int:
    """Return what is left of a document's share of a job after the credit notes, in minor units."""
    query = (
        sa.select(sa.func.coalesce(sa.func.sum(InvoiceJob.amount_minor), 0))
        .join(Invoice, Invoice.id == InvoiceJob.invoice_id)
        .where(
            InvoiceJob.job_id == job_id,
            sa.or_(Invoice.id == invoice.id, Invoice.cancels_id == invoice.id),
        )
    )
    return int(session.scalar(query) or 0)


def is_final(kind: InvoiceKind) -> bool:
    """Whether a document charges for work that was done."""
    return kind in FINAL


def charged_of(session: Session, job_ids: Collection[int]) -> dict[int, int]:
    """Return what the documents over work charge for each job, credit notes off, in one query."""
    first = aliased(Invoice)
    query = (
        sa.select(InvoiceJob.job_id, sa.func.sum(InvoiceJob.amount_minor))
        .join(Invoice, Invoice.id == InvoiceJob.invoice_id)
        .join(first, first.id == sa.func.coalesce(Invoice.cancels_id, Invoice.id))
        .where(InvoiceJob.job_id.in_(job_ids), first.kind.in_(FINAL))
        .group_by(InvoiceJob.job_id)
    )
    found = {job_id: int(minor) for job_id, minor in session.execute(query)}
    return {job_id: found.get(job_id, 0) for job_id in job_ids}


def shares_of(session: Session, invoice_ids: Collection[int]) -> dict[int, dict[int, int]]:
    """Return what is left of documents of each of their jobs, in one query; none with nothing."""
    first = sa.func.coalesce(Invoice.cancels_id, Invoice.id)
    query = (
        sa.select(first, InvoiceJob.job_id, sa.func.sum(InvoiceJob.amount_minor))
        .join(Invoice, Invoice.id == InvoiceJob.invoice_id)
        .where(first.in_(invoice_ids))
        .group_by(first, InvoiceJob.job_id)
        .order_by(InvoiceJob.job_id)
    )
    found: dict[int, dict[int, int]] = {one: {} for one in invoice_ids}
    for invoice_id, job_id, minor in session.execute(query):
        if minor > 0:
            found[invoice_id][job_id] = int(minor)
    return found


def _next(session: Session, series: str, first: int) -> int:
    """Return the next number of a series; two at once are run one after the other by `write`."""
    row = session.get(NumberSeries, series, with_for_update=True, populate_existing=True)
    if row is None:
        row = NumberSeries(series=series, last=first - 1)
        session.add(row)
    row.last += 1
    session.flush()
    return row.last
