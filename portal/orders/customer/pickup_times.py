"""When a customer means to come for ready parts: chosen at the link, told at the counter."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.customer.pickup_days import pickup_days
from portal.orders.kernel.errors import Refused, Taken
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import lock_job, record_event
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.moves import JobState
from portal.shop.shop import Shop
from portal.shop.verbs import EventVerb
from portal.store.jobs import Job

VERB = "pickup_by_link"
STEP = timedelta(hours=1)
NOT_READY = Message("Your parts are not ready for pickup.")
GONE = Message("We are not open at that time. Choose another one.")


@dataclass(frozen=True, slots=True)
class PickupTime:
    """An hour in which parts can be collected; aware UTC."""

    start: datetime
    end: datetime

    @property
    def name(self) -> str:
        """Its start as a form sends it back."""
        return f"{self.start:%Y%m%dT%H%M%z}"


def named_time(name: str) -> datetime | None:
    """Return the start that `PickupTime.name` wrote; None for any other text."""
    try:
        return datetime.strptime(name, "%Y%m%dT%H%M%z")
    except ValueError:
        return None


def times_of(shop: Shop, now: datetime) -> tuple[PickupTime, ...]:
    """Return the hours of the next pickup days that are not over."""
    found = []
    for day in pickup_days(shop, now):
        for begins, ends in day.hours:
            start = begins
            while start < ends:
                end = min(start + STEP, ends)
                if end > now:
                    found.append(PickupTime(start, end))
                start = end
    return tuple(found)


@read_only
def pickup_times(unit: UnitOfWork, session: Session, token: str) -> tuple[PickupTime, ...]:
    """Return what can be chosen behind a link; Refused while the parts are not ready."""
    job = behind(session, token, unit.now(), Job.state)
    if job.state is not JobState.READY:
        raise Refused(NOT_READY)
    return times_of(unit.shop(session), unit.now())


@transactional
def choose_pickup(
    unit: UnitOfWork, session: Session, token: str, start: datetime, *, once_token: str
) -> None:
    """Note when the customer means to come; Refused, or Taken where that hour is closed."""
    found: Job = behind(session, token, unit.now(), Job)[0]
    _choose(unit, session, lock_job(session, found.id), start, once_token=once_token)


@idempotent(VERB)
def _choose(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    start: datetime,
    *,
    once_token: str,  # taken by the decorator
) -> None:
    if job.state is not JobState.READY:
        raise Refused(NOT_READY)
    shop = unit.shop(session)
    if start not in {one.start for one in times_of(shop, unit.now())}:
        raise Taken(GONE, key="slot")
    if job.pickup_at == start:
        return
    job.pickup_at = start
    data = {"day": f"{shop.week.local(start):%Y-%m-%d}"}
    record_event(session, job, EventVerb.PICKUP_TIME, at=unit.now(), who=None, data=data)
