"""Trade customers as the office sees them: the list, and one with jobs, prices and invoices."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.firms import FirmCredit, credit_of, credits_of, firm_row, party_of
from portal.orders.kernel.ledger import OWED, TOTAL
from portal.orders.kernel.month_invoice import billable, over_on
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.office.firms import FirmData
from portal.orders.office.month_view import FirmInvoiceLine, invoices_of_firm
from portal.shop.codes import shown
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.store.tables import Firm, FirmLink, FirmPrice, FirmSession, Job

MOST_JOBS = 50


@dataclass(frozen=True, slots=True)
class FirmLine:
    """One firm in the list."""

    firm_id: int
    name: str
    code: str
    closed: bool
    credit: FirmCredit
    jobs: int


@dataclass(frozen=True, slots=True)
class FirmJob:
    """One job of a firm."""

    code: str
    state: JobState
    summary: Message
    vehicle: str
    dropoff_at: datetime
    promise_at: datetime
    handed_back_at: datetime | None
    total: Money
    owed: Money

    @property
    def shown_code(self) -> str:
        """The code in groups."""
        return shown(self.code)


@dataclass(frozen=True, slots=True)
class FirmPriceEdition:
    """Prices of a firm from a day on, as they were written."""

    edition_id: int
    starts_on: date
    body: Mapping[str, Any]
    to_come: bool


@dataclass(frozen=True, slots=True)
class WaitingMonth:
    """What of a month has no invoice yet."""

    month: date
    jobs: int
    total: Money


@dataclass(frozen=True, slots=True)
class FirmView:
    """One firm, whole; `version` goes back with what is saved."""

    firm_id: int
    data: FirmData
    version: int
    closed_at: datetime | None
    credit: FirmCredit
    jobs: tuple[FirmJob, ...]
    prices: tuple[FirmPriceEdition, ...]
    waiting: tuple[WaitingMonth, ...]
    invoices: tuple[FirmInvoiceLine, ...]
    link_sent_at: datetime | None
    open_pages: int
    currency: str


@read_only
def firms(unit: UnitOfWork, session: Session) -> tuple[FirmLine, ...]:
    """Return every firm, those that are closed last."""
    currency = unit.shop(session).currency
    open_jobs = (
        sa.select(Job.firm_id, sa.func.count().label("jobs"))
        .where(Job.firm_id.is_not(None), Job.state.in_([s for s in JobState if s.is_open]))
        .group_by(Job.firm_id)
        .subquery()
    )
    rows = session.execute(
        sa.select(Firm, open_jobs.c.jobs)
        .outerjoin(open_jobs, open_jobs.c.firm_id == Firm.id)
        .order_by(Firm.closed_at.is_not(None), sa.func.lower(Firm.name))
    ).all()
    credits_ = credits_of(session, [firm for firm, _jobs in rows], currency)
    return tuple(
        FirmLine(
            firm_id=firm.id,
            name=firm.name,
            code=firm.code,
            closed=firm.closed_at is not None,
            credit=credits_[firm.id],
            jobs=jobs or 0,
        )
        for firm, jobs in rows
    )


@read_only
def firm(unit: UnitOfWork, session: Session, firm_id: int) -> FirmView:
    """Return one firm; Unknown where there is none."""
    row, shop, now = firm_row(session, firm_id), unit.shop(session), unit.now()
    sessions = sa.select(sa.func.count()).where(
        FirmSession.firm_id == firm_id, FirmSession.expires_at > now
    )
    links = sa.select(sa.func.max(FirmLink.created_at)).where(FirmLink.firm_id == firm_id)
    return FirmView(
        firm_id=firm_id,
        data=data_of(row),
        version=row.version,
        closed_at=row.closed_at,
        credit=credit_of(session, firm_id, shop.currency),
        jobs=jobs_of_firm(session, firm_id),
        prices=_prices(session, firm_id, shop.day(now)),
        waiting=_waiting(unit, session, firm_id),
        invoices=invoices_of_firm(session, firm_id, shop.day(now)),
        link_sent_at=session.scalar(links),
        open_pages=session.scalar(sessions) or 0,
        currency=shop.currency,
    )


def data_of(row: Firm) -> FirmData:
    """Return what the office entered of a firm."""
    return FirmData(
        name=row.name,
        party=party_of(row),
        terms_days=row.terms_days,
        code=row.code,
        contact=row.contact,
        email=row.email,
        phone=row.phone,
        locale=row.locale,
        bringing=row.bringing,
        fetched=row.fetched,
        limit_minor=row.limit_minor,
    )


def jobs_of_firm(session: Session, firm_id: int, *, most: int = MOST_JOBS) -> tuple[FirmJob, ...]:
    """Return a firm's jobs, the newest first; of no other firm."""
    columns = (
        *(Job.code, Job.state, Job.summary, Job.vehicle, Job.dropoff_at, Job.promise_at),
        *(Job.handed_back_at, Job.currency, TOTAL, OWED),
    )
    query = sa.select(*columns).where(Job.firm_id == firm_id).order_by(Job.id.desc()).limit(most)
    return tuple(
        FirmJob(
            code=row.code,
            state=row.state,
            summary=row.summary,
            vehicle=row.vehicle,
            dropoff_at=row.dropoff_at,
            promise_at=row.promise_at,
            handed_back_at=row.handed_back_at,
            total=Money(row.total_minor, row.currency),
            owed=Money(row.owed_minor, row.currency),
        )
        for row in session.execute(query)
    )


def _prices(session: Session, firm_id: int, today: date) -> tuple[FirmPriceEdition, ...]:
    query = sa.select(FirmPrice).where(FirmPrice.firm_id == firm_id)
    rows = session.scalars(query.order_by(FirmPrice.starts_on.desc(), FirmPrice.id.desc()))
    return tuple(
        FirmPriceEdition(row.id, row.starts_on, row.body, row.starts_on > today) for row in rows
    )


def _waiting(unit: UnitOfWork, session: Session, firm_id: int) -> tuple[WaitingMonth, ...]:
    shop = unit.shop(session)
    found: dict[date, list[int]] = {}
    for one in billable(session, firm_id, shop.day(unit.now()), shop):
        month = over_on(one.job, shop).replace(day=1)
        found.setdefault(month, []).append(one.minor)
    return tuple(
        WaitingMonth(month, len(sums), Money(sum(sums), shop.currency))
        for month, sums in sorted(found.items())
    )
