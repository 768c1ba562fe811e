"""What the customer hands over at the tyre shop, and when its second visit is due."""

from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.preparing import TyreShop, tyre_shop
from portal.craft.quantities import UnitSystem
from portal.notices.calendar import DropOffEntry
from portal.orders.kernel.calendar_entries import tyre_shop_of
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.codes import shown
from portal.store.jobs import JobForecast
from portal.store.tables import Job

NOTHING = Message("With these parts there is nothing for a tyre shop to do.")


@dataclass(frozen=True, slots=True)
class TyreShopSheet:
    """The sheet: until when what comes off, and from when what is fitted again."""

    token: str
    code: str
    summary: Message
    dropoff_at: datetime
    ready_at: datetime
    work: TyreShop
    units: UnitSystem | None


@read_only
def tyre_shop_sheet(unit: UnitOfWork, session: Session, token: str) -> TyreShopSheet:
    """Return the sheet of a job; Unknown for no link, or where no tyre shop has anything to do."""
    job: Job = behind(session, token, unit.now(), Job)[0]
    work = tyre_shop(declared_of(job))
    if work is None:
        raise Unknown(NOTHING)
    return TyreShopSheet(
        token=job.token,
        code=shown(job.code),
        summary=job.summary,
        dropoff_at=job.dropoff_at,
        ready_at=told_date(session, job),
        work=work,
        units=job.customer.units,
    )


@read_only
def tyre_shop_entry(unit: UnitOfWork, session: Session, token: str) -> DropOffEntry:
    """Return the second visit as a calendar entry; raise Unknown as above."""
    job: Job = behind(session, token, unit.now(), Job)[0]
    entry = tyre_shop_of(unit, job, unit.shop(session), told_date(session, job))
    if entry is None:
        raise Unknown(NOTHING)
    return entry


def told_date(session: Session, job: Job) -> datetime:
    """Return the date that the customer was told last: the promise, or a later one in its place."""
    later = session.scalar(sa.select(JobForecast.told_at).where(JobForecast.job_id == job.id))
    return later or job.promise_at
