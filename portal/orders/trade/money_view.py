"""A firm's invoices and prices, as its own page shows them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.firms import FirmCredit, credit_of, shop_for_firm
from portal.orders.kernel.invoice_paper import InvoicePaper, InvoiceRow, by_number, paper_of, row_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.pricing.price_list import Tariff
from portal.store.tables import FirmInvoice, FirmPrice, Invoice


@dataclass(frozen=True, slots=True)
class FirmPaper:
    """One document of a firm; `due_on` is when an invoice of a month is to be paid."""

    row: InvoiceRow
    due_on: date | None


@dataclass(frozen=True, slots=True)
class InvoicesView:
    """A firm's documents, the last one first, and what it owes."""

    papers: tuple[FirmPaper, ...]
    credit: FirmCredit


@dataclass(frozen=True, slots=True)
class PricesView:
    """The price list as the firm has it, since when, and when it changes next."""

    tariff: Tariff
    tax_percent: str
    since: date | None
    next_on: date | None


@read_only
def invoices(unit: UnitOfWork, session: Session, firm_id: int) -> InvoicesView:
    """Return the invoices of the months, and the credit notes to them."""
    due = dict(
        session.execute(
            sa.select(FirmInvoice.invoice_id, FirmInvoice.due_on).where(
                FirmInvoice.firm_id == firm_id
            )
        ).all()
    )
    papers = [FirmPaper(row_of(one), due.get(one.id)) for one in _own(session, firm_id)]
    return InvoicesView(tuple(papers), credit_of(session, firm_id, unit.shop(session).currency))


@read_only
def invoice(_unit: UnitOfWork, session: Session, firm_id: int, number: str) -> InvoicePaper:
    """Return one document of the firm; Unknown for anybody else's."""
    return paper_of(session, by_number(_own(session, firm_id), number))


@read_only
def prices(unit: UnitOfWork, session: Session, firm_id: int) -> PricesView:
    """Return what the firm pays."""
    shop = shop_for_firm(unit, session, firm_id)
    today = shop.day(unit.now())
    days = session.scalars(
        sa.select(FirmPrice.starts_on)
        .where(FirmPrice.firm_id == firm_id)
        .order_by(FirmPrice.starts_on)
    ).all()
    begun = [day for day in days if day <= today]
    return PricesView(
        tariff=shop.tariff,
        tax_percent=f"{shop.tariff.tax.percent(today):f}",
        since=begun[-1] if begun else None,
        next_on=next((day for day in days if day > today), None),
    )


def _own(session: Session, firm_id: int) -> Sequence[Invoice]:
    own = sa.select(FirmInvoice.invoice_id).where(FirmInvoice.firm_id == firm_id)
    query = (
        sa.select(Invoice)
        .where(sa.or_(Invoice.id.in_(own), Invoice.cancels_id.in_(own)))
        .order_by(Invoice.id.desc())
    )
    return session.scalars(query).all()
