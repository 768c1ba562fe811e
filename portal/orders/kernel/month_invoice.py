"""One invoice over every job of a firm that is over and stands on none yet."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.firms import party_of
from portal.orders.kernel.invoice_contents import (
    charges_of,
    document_over,
    one_charge,
    paid_of,
    set_off_of,
)
from portal.orders.kernel.invoice_rows import (
    Occasion,
    buyer_of,
    charged_of,
    document_of,
    put_invoice,
    shares_of,
)
from portal.orders.kernel.issuing import LATER, OVER
from portal.orders.kernel.ledger import accounts_of
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.codes import shown
from portal.shop.invoicing.compose import CREDIT, JobCharges, credit_of, lines_and_taxes
from portal.shop.invoicing.document import InvoiceDocument, InvoiceKind, Party
from portal.shop.ledger import Account
from portal.shop.shop import Shop
from portal.store.tables import Firm, Invoice, Job


@dataclass(frozen=True, slots=True)
class Billable:
    """One job for the invoice: what it costs beyond the invoices that stand, in minor units."""

    job: Job
    account: Account
    minor: int

    @property
    def is_more(self) -> bool:
        """Whether an invoice over the rest of it was issued before."""
        return self.minor != self.account.total.minor


def billable(session: Session, firm_id: int, until: date, shop: Shop) -> tuple[Billable, ...]:
    """Return what of a firm's jobs that ended up to a day, that day included, has no invoice."""
    return billable_of(session, [firm_id], until, shop)[firm_id]


def billable_of(
    session: Session, firm_ids: Collection[int], until: date, shop: Shop
) -> dict[int, tuple[Billable, ...]]:
    """Return the same of several firms, in as many queries as of one."""
    query = sa.select(Job).where(Job.firm_id.in_(firm_ids), Job.state.in_(OVER))
    jobs = [one for one in session.scalars(query) if over_on(one, shop) <= until]
    jobs.sort(key=lambda one: (over_on(one, shop), one.id))
    accounts = accounts_of(session, [one.id for one in jobs])
    charged = charged_of(session, [one.id for one in jobs])
    found: dict[int, list[Billable]] = {firm_id: [] for firm_id in firm_ids}
    for job in jobs:
        account = accounts[job.id]
        left = account.total.minor - charged[job.id]
        if left > 0 and job.firm_id is not None:
            found[job.firm_id].append(Billable(job, account, left))
    return {firm_id: tuple(own) for firm_id, own in found.items()}


def over_on(job: Job, shop: Shop) -> date:
    """Return the day on which a job was over: collected, else when it was to be dropped off."""
    return shop.day(job.handed_back_at or job.dropoff_until)


def month_document(
    unit: UnitOfWork, session: Session, firm: Firm, found: Sequence[Billable]
) -> InvoiceDocument:
    """Return the invoice as it would be issued now, without its number."""
    shop = unit.shop(session)
    document = document_over(
        unit,
        shop,
        [one.job for one in found],
        [_charges(one) for one in found],
        kind=InvoiceKind.INVOICE,
    )
    whole = [one for one in found if not one.is_more]
    document = replace(
        document,
        language=firm.locale,
        set_off=tuple(sum_ for one in whole for sum_ in set_off_of(session, one.job)),
        paid=tuple(sum_ for one in whole for sum_ in paid_of(one.account, shop)),
    )
    if document.due <= 0:
        return document
    due_on = document.issued_on + timedelta(days=firm.terms_days)
    return replace(document, due_on=due_on, terms=shop.invoicing.terms.words)


def issue_month(
    unit: UnitOfWork, session: Session, firm: Firm, found: Sequence[Billable], *, who: int | None
) -> tuple[Invoice, InvoiceDocument]:
    """Issue the invoice; the jobs are locked."""
    document = month_document(unit, session, firm, found)
    shares = {one.job.id: one.minor for one in found}
    shop = unit.shop(session)
    occasion = Occasion(unit.now(), who)
    row = put_invoice(session, document, party_of(firm), shares, shop, occasion)
    return row, document


def cancel_whole(
    unit: UnitOfWork, session: Session, invoice: Invoice, reason: Message, *, who: int | None
) -> Invoice | None:
    """Take back what is left of an invoice by one credit note; None where nothing is."""
    shop, original = unit.shop(session), document_of(invoice)
    left = shares_left(session, invoice)
    if not left:
        return None
    document = credit_of(original, issued_on=shop.day(unit.now()), reason=reason)
    if sum(left.values()) != invoice.charged_minor:
        document = _of_the_rest(session, document, left, reason)
    buyer: Party = buyer_of(session, invoice.id)
    occasion = Occasion(unit.now(), who, cancels=invoice)
    return put_invoice(session, document, buyer, left, shop, occasion)


def shares_left(session: Session, invoice: Invoice) -> dict[int, int]:
    """Return what is left of an invoice of each job, in minor units; none that has nothing."""
    return shares_of(session, [invoice.id])[invoice.id]


def _charges(one: Billable) -> JobCharges:
    if one.is_more:
        return one_charge(one.job, Message(LATER.msgid, summary=one.job.summary), one.minor)
    return charges_of(one.job, one.account)


def _of_the_rest(
    session: Session, document: InvoiceDocument, left: dict[int, int], reason: Message
) -> InvoiceDocument:
    """Return a credit note over what earlier ones left, a line for each job."""
    jobs = {job_id: session.get_one(Job, job_id) for job_id in left}
    lines, taxes = lines_and_taxes(
        one_charge(
            jobs[job_id],
            Message(CREDIT.msgid, code=shown(jobs[job_id].code), reason=reason),
            minor,
        )
        for job_id, minor in left.items()
    )
    return replace(document, lines=lines, taxes=taxes, set_off=())
