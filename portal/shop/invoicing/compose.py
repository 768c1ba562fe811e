"""Builds a document: its lines and taxes from what was agreed for each job."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from portal.craft.messages import Message
from portal.shop.invoicing.document import (
    InvoiceDocument,
    InvoiceKind,
    InvoiceLine,
    Party,
)
from portal.shop.invoicing.rules import InvoiceRules
from portal.shop.invoicing.settings import Invoicing
from portal.shop.invoicing.sums import TaxedSum, fit, taxed

ROUNDING = Message("Rounding to the agreed price")
PAID_AHEAD = Message("Payment in advance for job {code}: {summary}")
CREDIT = Message("Credit for job {code}: {reason}")


@dataclass(frozen=True, slots=True)
class Charge:
    """One thing that is charged, in minor units; `amount` of a discount is negative.

    `amount` is as the price list writes it; a discount (`with_tax`) always contains the tax.
    """

    says: Message
    amount: int
    count: int = 1
    with_tax: bool = False


@dataclass(frozen=True, slots=True)
class JobCharges:
    """What one job costs: its charges, and the gross sum that was agreed."""

    code: str
    percent: Decimal
    tax_inclusive: bool
    charges: tuple[Charge, ...]
    agreed: int


def lines_and_taxes(
    jobs: Iterable[JobCharges],
) -> tuple[tuple[InvoiceLine, ...], tuple[TaxedSum, ...]]:
    """Return the lines in the order of the jobs, and one sum for each rate, highest rate first.

    The nets of the lines of a rate add up to its net (EN 16931, BR-CO-10 and BR-S-08).
    """
    every = [_evened(job) for job in jobs]
    taxes: list[TaxedSum] = []
    nets: dict[tuple[int, int], int] = {}
    for percent in sorted({job.percent for job in every}, reverse=True):
        own = [(n, job) for n, job in enumerate(every) if job.percent == percent]
        sum_ = taxed(sum(job.agreed for _, job in own), percent)
        taxes.append(sum_)
        places = [(n, m) for n, job in own for m in range(len(job.charges))]
        exact = [_exact_net(every[n], every[n].charges[m]) for n, m in places]
        nets.update(zip(places, fit(sum_.net, exact), strict=True))
    lines = tuple(
        InvoiceLine(
            job=job.code,
            says=charge.says,
            count=charge.count,
            listed=charge.amount,
            net=nets[n, m],
            percent=job.percent,
        )
        for n, job in enumerate(every)
        for m, charge in enumerate(job.charges)
    )
    return lines, tuple(taxes)


def _exact_net(job: JobCharges, charge: Charge) -> Decimal:
    if job.tax_inclusive or charge.with_tax:
        return Decimal(charge.amount) * 100 / (100 + job.percent)
    return Decimal(charge.amount)


def _evened(job: JobCharges) -> JobCharges:
    """Add what the charges lack of the agreed sum, where it is more than rounding leaves."""
    wanted = Decimal(taxed(job.agreed, job.percent).net)
    lacks = wanted - sum((_exact_net(job, one) for one in job.charges), Decimal(0))
    if abs(lacks) < 1:
        return job
    missing = job.agreed - sum(one.amount for one in job.charges)
    if not job.tax_inclusive:
        missing = round(lacks)
    return replace(job, charges=(*job.charges, Charge(ROUNDING, missing)))


def seller_of(entries: Invoicing, *, name: str, country: str, phone: str, email: str) -> Party:
    """Return the seller; the works' own data stand in for what was not entered."""
    own = entries.seller
    return Party(
        name=own.name or name,
        street=own.street,
        postcode=own.postcode,
        city=own.city,
        country=country,
        vat_number=own.vat_number,
        tax_number=own.tax_number,
        company_number=own.company_number,
        about=own.about,
        phone=phone,
        email=email,
    )


def lacks_of(entries: Invoicing, rules: InvoiceRules, *, taxes: bool) -> tuple[Message, ...]:
    """Return what must be filled in before a document can be an invoice by the place's law."""
    own = entries.seller
    lacks = []
    if not (own.street and own.city):
        lacks.append(Message("Enter the street and town of the works."))
    if not tax_may_be_shown(entries, rules, taxes=taxes):
        lacks.append(
            Message("Enter the tax number. Until then, receipts show no tax and prove none.")
        )
    if not taxes and rules.needs_tax_number and not own.no_tax_because:
        lacks.append(Message("Enter why no tax is charged. The law wants it on each invoice."))
    return tuple(lacks)


def credit_of(document: InvoiceDocument, *, issued_on: date, reason: Message) -> InvoiceDocument:
    """Return the credit note that cancels a whole document; its number comes with its issue."""
    return replace(
        document,
        kind=InvoiceKind.CREDIT_NOTE,
        number="",
        issued_on=issued_on,
        refers_to=document.number,
        refers_on=document.issued_on,
        reason=reason,
        paid=(),
        due_on=None,
        terms="",
    )


def tax_may_be_shown(entries: Invoicing, rules: InvoiceRules, *, taxes: bool) -> bool:
    """Return whether a document may show its tax: not without the number that the law wants."""
    own = entries.seller
    return not (taxes and rules.needs_tax_number and not (own.vat_number or own.tax_number))
