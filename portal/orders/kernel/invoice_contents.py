"""What the documents of jobs say: seller, lines, payments, taken from jobs and their accounts."""

from collections.abc import Sequence
from decimal import Decimal

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.invoice_rows import document_of, invoices_of, standing
from portal.orders.kernel.job_order import quote_of
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.codes import shown
from portal.shop.invoicing.compose import (
    Charge,
    JobCharges,
    lines_and_taxes,
    seller_of,
    tax_may_be_shown,
)
from portal.shop.invoicing.document import InvoiceDocument, InvoiceKind, PaidSum, SetOff
from portal.shop.invoicing.rules import invoice_rules
from portal.shop.ledger import Account, EntryKind
from portal.shop.shop import Shop
from portal.store.tables import Job

# why it was given is between staff
DISCOUNT = Message("Discount")
GOODWILL = Message("Goodwill")
WORK = Message("{summary}")
DONE_SO_FAR = Message("Work done until the order ended: {summary}")


def document_over(
    unit: UnitOfWork,
    shop: Shop,
    jobs: Sequence[Job],
    charges: Sequence[JobCharges],
    *,
    kind: InvoiceKind,
) -> InvoiceDocument:
    """Return a document over what jobs of one buyer cost, without its number and payments."""
    job, quote = jobs[0], quote_of(jobs[0])
    lines, taxes = lines_and_taxes(charges)
    today = shop.day(unit.now())
    days = sorted(shop.day(one.handed_back_at) if one.handed_back_at else today for one in jobs)
    return InvoiceDocument(
        kind=kind,
        number="",
        issued_on=today,
        supplied_from=days[0] if days[0] != days[-1] else None,
        supplied_on=days[-1],
        currency=job.currency,
        language=job.customer.locale,
        tax_name=quote.tax_name if quote else shop.tariff.tax.name,
        tax_inclusive=all(one.tax_inclusive for one in charges),
        tax_shown=tax_may_be_shown(
            shop.invoicing, invoice_rules(shop.country), taxes=any(one.percent for one in taxes)
        ),
        no_tax_because=shop.invoicing.seller.no_tax_because,
        seller=seller_of(
            shop.invoicing,
            name=shop.name,
            country=shop.country,
            phone=shop.phone,
            email=shop.email,
        ),
        bank=shop.invoicing.bank,
        lines=lines,
        taxes=taxes,
    )


def charges_of(job: Job, account: Account) -> JobCharges:
    """Return what a whole job costs: the lines of its price, less discounts and goodwill."""
    ended = any(one.kind is EntryKind.END for one in account.entries)
    quote = quote_of(job)
    reductions = tuple(
        Charge(
            GOODWILL if one.kind is EntryKind.GOODWILL else DISCOUNT,
            one.amount.minor,
            with_tax=True,
        )
        for one in account.open_reductions
    )
    if ended or quote is None:
        says = DONE_SO_FAR if ended else WORK
        return one_charge(job, Message(says.msgid, summary=job.summary), account.total.minor)
    return JobCharges(
        code=shown(job.code),
        percent=quote.tax_percent,
        tax_inclusive=quote.tax_inclusive,
        charges=(
            *(Charge(one.says, one.amount.minor, one.count) for one in quote.lines),
            *reductions,
        ),
        agreed=account.total.minor,
    )


def one_charge(
    job: Job, says: Message, minor: int, *, percent: Decimal | None = None
) -> JobCharges:
    """Return one sum, tax included, as all that is charged for a job."""
    return JobCharges(
        code=shown(job.code),
        percent=rate_of(job) if percent is None else percent,
        tax_inclusive=True,
        charges=(Charge(says, minor),),
        agreed=minor,
    )


def rate_of(job: Job) -> Decimal:
    quote = quote_of(job)
    return quote.tax_percent if quote else Decimal(0)


def set_off_of(session: Session, job: Job) -> tuple[SetOff, ...]:
    """Return the payment receipts that still stand, with the tax in them."""
    found = []
    for one in invoices_of(session, job.id):
        if one.kind is not InvoiceKind.DEPOSIT or standing(session, one, job.id) <= 0:
            continue
        document = document_of(one)
        found += [
            SetOff(
                number=one.number,
                issued_on=document.issued_on,
                net=taxed.net + taxed.rounding,
                tax=taxed.tax,
                percent=taxed.percent,
            )
            for taxed in document.taxes
        ]
    return tuple(found)


def paid_of(account: Account, shop: Shop) -> tuple[PaidSum, ...]:
    """Return what was paid and given back, as far as it stands."""
    return tuple(
        PaidSum(day=shop.day(one.at), way=one.how, amount=-one.amount.minor)
        for one in account.entries
        if one.kind.is_money
        and one.how is not None
        and one.reverses_id is None
        and one.id not in account.reversed_ids
    )
