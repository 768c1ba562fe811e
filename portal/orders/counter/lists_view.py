"""Rows of the counter's lists, and what waits on the shelf."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.job_lock import NOT_HERE
from portal.orders.kernel.ledger import OWED, TOTAL, balance_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.kernel.wording import LEFT_OPEN
from portal.shop.codes import shown
from portal.shop.job_dates import Day, JobDates
from portal.shop.ledger import Balance
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.shop.pricing.statements import DateStatement, PriceStatement, date_of_job, price_of_job
from portal.store.jobs import Customer, HardwareBag, Job, JobForecast, Part


@dataclass(frozen=True, slots=True)
class ListRow:
    """One job in a list of the counter."""

    code: str
    name: str
    state: JobState
    summary: Message
    vehicle: str
    flag: Message | None
    dropoff_at: datetime
    dropoff_until: datetime
    promise_at: datetime
    expected_at: datetime | None
    expected_unless: str | None
    forecast_at: datetime | None
    ready_at: datetime | None
    total_minor: int
    left_open: int
    owed_minor: int
    deposit_minor: int
    currency: str
    firm_id: int | None
    told_at: datetime | None
    early_from: Day | None

    @property
    def shown_code(self) -> str:
        """The code in groups."""
        return shown(self.code)

    @property
    def price(self) -> PriceStatement:
        """What the job comes to, as its customer is told."""
        return price_of_job(Money(self.total_minor, self.currency), self.left_open, self.state)

    @property
    def date(self) -> DateStatement:
        """When the job is ready, as its customer is told."""
        return date_of_job(self.promise_at, self.expected_at, self.expected_unless, self.state)

    @property
    def dates(self) -> JobDates:
        """Its dates, as its customer reads them, and the forecast."""
        return JobDates(self.state, self.date, self.told_at, self.early_from, self.forecast_at)

    @property
    def due(self) -> Money:
        """What is still owed; below zero, what we owe the customer."""
        return Money(self.owed_minor, self.currency)

    @property
    def balance(self) -> Balance:
        """What the account of the job comes to."""
        return balance_of(self)


@dataclass(frozen=True, slots=True)
class OnShelf:
    """A job that waits for pickup, and for how many days."""

    row: ListRow
    days: int
    parts: int
    tags: tuple[str, ...]
    bags: int
    shelf: str = ""
    pickup_at: datetime | None = None


ROW = (
    Job.code,
    Customer.name,
    Job.state,
    Job.summary,
    Job.vehicle,
    Job.flag,
    Job.dropoff_at,
    Job.dropoff_until,
    Job.promise_at,
    Job.expected_at,
    Job.expected_unless,
    JobForecast.safe_at,
    Job.ready_at,
    TOTAL,
    LEFT_OPEN,
    OWED,
    Job.deposit_minor,
    Job.currency,
    Job.firm_id,
    JobForecast.told_at,
    JobForecast.early_from,
)


@read_only
def shelf(unit: UnitOfWork, session: Session) -> tuple[OnShelf, ...]:
    """Return what is ready and not picked up, the longest waiting first."""
    week = unit.shop(session).week
    today = week.local(unit.now()).date()
    query = (
        rows_with(Job.id, Job.shelf, Job.pickup_at)
        .where(Job.state == JobState.READY)
        .order_by(Job.ready_at)
    )
    rows = session.execute(query).all()
    ids = [row.id for row in rows]
    tags: dict[int, list[str]] = {}
    worn = sa.select(Part.job_id, Part.tag).where(
        Part.job_id.in_(ids), Part.arrived.not_in(NOT_HERE)
    )
    for job_id, tag in session.execute(worn.order_by(Part.number)):
        tags.setdefault(job_id, []).append(tag or "")
    counted = sa.select(HardwareBag.job_id, sa.func.count().label("number")).where(
        HardwareBag.job_id.in_(ids)
    )
    rows_of_bags = session.execute(counted.group_by(HardwareBag.job_id)).all()
    bags = {found.job_id: found.number for found in rows_of_bags}
    return tuple(
        OnShelf(
            row=row_of(row),
            days=(today - week.local(row.ready_at or unit.now()).date()).days,
            parts=len(tags.get(row.id, ())),
            tags=tuple(tag for tag in tags.get(row.id, ()) if tag),
            bags=bags.get(row.id, 0),
            shelf=row.shelf,
            pickup_at=row.pickup_at,
        )
        for row in rows
    )


def rows_with(*columns: Any) -> sa.Select[Any]:
    """Return the query of jobs with these columns and those of `ROW`."""
    query = sa.select(*columns, *ROW).select_from(Job)
    return query.join(Job.customer).outerjoin(Job.forecast)


def row_of(found: Any) -> ListRow:
    """Return the row of a list from a result that has the columns of `ROW`."""
    return ListRow(*(getattr(found, column.key) for column in ROW))
