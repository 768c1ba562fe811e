"""Issues the documents of a job, so that together they always say what its account says.

A payment in advance has its receipt; when the order is over, an invoice (a receipt, where the
buyer's address isn't known) covers the work, less those payments. What changes after that is a
credit note, or one more invoice, over the difference.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.invoice_contents import (
    charges_of,
    document_over,
    one_charge,
    paid_of,
    rate_of,
    set_off_of,
)
from portal.orders.kernel.invoice_rows import (
    Occasion,
    buyer_for,
    buyer_of,
    document_of,
    invoices_of,
    is_final,
    put_invoice,
    standing,
)
from portal.orders.kernel.ledger import account_of, accounts_of
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.codes import shown
from portal.shop.invoicing.compose import (
    CREDIT,
    PAID_AHEAD,
    Charge,
    JobCharges,
    credit_of,
    lines_and_taxes,
)
from portal.shop.invoicing.document import InvoiceDocument, InvoiceKind, PaidSum, Party
from portal.shop.invoicing.rules import invoice_rules
from portal.shop.ledger import Account
from portal.shop.moves import JobState
from portal.shop.shop import Shop
from portal.store.tables import Invoice, Job

# the order ended, and what it costs stands
OVER = frozenset(
    {
        JobState.HANDED_BACK,
        JobState.NOT_FETCHED,
        JobState.CALLED_OFF,
        JobState.TURNED_AWAY,
    }
)
# stands on a line of a later invoice
LATER = Message("Work added later: {summary}")
CORRECTED = Message("Correction")
PAYMENT_REVERSED = Message("The payment was recorded by mistake")
HANDED_BACK_WRONGLY = Message("The hand-back was recorded by mistake")
CANCELLED = Message("The order was cancelled")
REDUCED = Message("The price was reduced")


def issue_for_payment(
    unit: UnitOfWork, session: Session, job: Job, entry_id: int, *, who: int | None
) -> None:
    """Issue the receipt of a payment that was taken before the work is handed back."""
    entry = account_of(session, job.id).entry(entry_id)
    if entry is None or job.state in OVER:
        return
    shop = unit.shop(session)
    taxed = invoice_rules(shop.country).deposit_taxed
    paid = -entry.amount.minor
    says = Message(PAID_AHEAD.msgid, code=shown(job.code), summary=job.summary)
    charges = JobCharges(
        code=shown(job.code),
        percent=rate_of(job) if taxed else Decimal(0),
        tax_inclusive=True,
        charges=(Charge(says, paid),),
        agreed=paid,
    )
    document = document_over(unit, shop, [job], [charges], kind=InvoiceKind.DEPOSIT)
    assert entry.how is not None  # every payment has its way
    document = replace(
        document,
        tax_shown=document.tax_shown and taxed,
        supplied_on=None,
        paid=(PaidSum(day=shop.day(entry.at), way=entry.how, amount=paid),),
    )
    put_invoice(
        session,
        document,
        buyer_for(session, job),
        {job.id: paid},
        shop,
        Occasion(unit.now(), who, entry_id=entry_id),
    )


def follow_account(
    unit: UnitOfWork, session: Session, job: Job, *, reason: Message = CORRECTED, who: int | None
) -> None:
    """Bring a job's documents to what its account says; `reason` stands on a credit note.

    What a firm's job costs waits for the firm's invoice of the month.
    Called at the end of every verb that changes the account or ends the order, in its transaction.
    """
    account = account_of(session, job.id)
    every = invoices_of(session, job.id)
    gone = account.reversed_ids
    for one in every:
        if one.kind is InvoiceKind.DEPOSIT and one.entry_id in gone:
            _credit(unit, session, job, one, reason=reason, who=who)
    if job.state not in OVER:
        for one in every:
            if is_final(one.kind):
                _credit(unit, session, job, one, reason=reason, who=who)
        return
    _settle(unit, session, job, account, reason=reason, who=who)


def reissue(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    invoice: Invoice,
    reason: Message,
    *,
    who: int | None,
) -> Invoice:
    """Cancel a job's invoice by a credit note and issue it anew, to whom it is made out now."""
    _credit(unit, session, job, invoice, reason=reason, who=who)
    return issue_final(unit, session, [job], who=who)


def _settle(  # what the account says, and by whom it changed
    unit: UnitOfWork,
    session: Session,
    job: Job,
    account: Account,
    *,
    reason: Message,
    who: int | None,
) -> None:
    every = invoices_of(session, job.id)
    finals = [one for one in every if is_final(one.kind)]
    charged = sum(standing(session, one, job.id) for one in finals)
    wanted = account.total.minor
    if wanted == 0:
        for one in every:
            if one.kind is not InvoiceKind.CREDIT_NOTE:
                _credit(unit, session, job, one, reason=reason, who=who)
    elif charged < wanted and job.firm_id is not None:
        return  # it stands on the next invoice of its firm
    elif charged == 0:
        issue_final(unit, session, [job], who=who)
    elif charged < wanted:
        _issue_more(unit, session, job, wanted - charged, who=who)
    else:
        _credit_part(unit, session, job, finals, charged - wanted, reason=reason, who=who)


def issue_final(
    unit: UnitOfWork, session: Session, jobs: Sequence[Job], *, who: int | None
) -> Invoice:
    """Issue one invoice, or receipt, over everything that jobs of one customer cost."""
    shop, buyer = unit.shop(session), buyer_for(session, jobs[0])
    accounts = accounts_of(session, [job.id for job in jobs])
    charges = [charges_of(job, accounts[job.id]) for job in jobs]
    document = document_over(unit, shop, jobs, charges, kind=_kind_for(buyer))
    document = replace(
        document,
        set_off=tuple(one for job in jobs for one in set_off_of(session, job)),
        paid=tuple(one for job in jobs for one in paid_of(accounts[job.id], shop)),
    )
    shares = {job.id: accounts[job.id].total.minor for job in jobs}
    return put_invoice(
        session, _with_terms(document, shop), buyer, shares, shop, Occasion(unit.now(), who)
    )


def _issue_more(
    unit: UnitOfWork, session: Session, job: Job, minor: int, *, who: int | None
) -> None:
    shop = unit.shop(session)
    buyer = buyer_for(session, job)
    charges = one_charge(job, Message(LATER.msgid, summary=job.summary), minor)
    document = document_over(unit, shop, [job], [charges], kind=_kind_for(buyer))
    document = _with_terms(document, shop)
    put_invoice(session, document, buyer, {job.id: minor}, shop, Occasion(unit.now(), who))


def _kind_for(buyer: Party) -> InvoiceKind:
    return InvoiceKind.INVOICE if buyer.has_address else InvoiceKind.RECEIPT


def _with_terms(document: InvoiceDocument, shop: Shop) -> InvoiceDocument:
    """Say by when to pay what is still due."""
    if document.due <= 0:
        return document
    terms = shop.invoicing.terms
    due_on = document.issued_on + timedelta(days=terms.days)
    return replace(document, due_on=due_on, terms=terms.words)


def _credit(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    invoice: Invoice,
    *,
    reason: Message,
    who: int | None,
) -> None:
    """Take back what is left of a document's share of this job."""
    left = standing(session, invoice, job.id)
    if left <= 0:
        return
    whole = left == invoice.charged_minor
    _put_credit(unit, session, job, invoice, None if whole else left, reason=reason, who=who)


def _credit_part(  # a credit is known by what it takes back, and why
    unit: UnitOfWork,
    session: Session,
    job: Job,
    finals: Sequence[Invoice],
    minor: int,
    *,
    reason: Message,
    who: int | None,
) -> None:
    """Take back a sum, of the latest invoices first."""
    for invoice in reversed(finals):
        left = min(minor, standing(session, invoice, job.id))
        if left > 0:
            _put_credit(unit, session, job, invoice, left, reason=reason, who=who)
            minor -= left


def _put_credit(  # a credit is known by what it takes back, and why
    unit: UnitOfWork,
    session: Session,
    job: Job,
    invoice: Invoice,
    minor: int | None,
    *,
    reason: Message,
    who: int | None,
) -> None:
    """Issue a credit note over a whole document, or over `minor` of it."""
    shop, original = unit.shop(session), document_of(invoice)
    today = shop.day(unit.now())
    document = credit_of(original, issued_on=today, reason=reason)
    if minor is not None:
        says = Message(CREDIT.msgid, code=shown(job.code), reason=reason)
        lines, taxes = lines_and_taxes([one_charge(job, says, minor, percent=_rate_of(original))])
        document = replace(document, lines=lines, taxes=taxes, set_off=())
    shares = {job.id: minor if minor is not None else standing(session, invoice, job.id)}
    buyer = buyer_of(session, invoice.id)
    put_invoice(session, document, buyer, shares, shop, Occasion(unit.now(), who, cancels=invoice))


def _rate_of(document: InvoiceDocument) -> Decimal:
    """Return the rate of a job's document; the highest, where several jobs have several."""
    return document.taxes[0].percent if document.taxes else Decimal(0)
