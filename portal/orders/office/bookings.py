"""Bookings that were not brought yet, and many of them called off at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.outbox import withdraw
from portal.orders.counter.cancellation import LONGEST_REASON, end_job
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.job_search import terms_of
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.moves import JobState
from portal.shop.verbs import EventVerb
from portal.store.jobs import Customer
from portal.store.tables import Job

A_PAGE = 100


@dataclass(frozen=True, slots=True)
class BookingLine:
    """A booking that was not brought yet; `same` have its telephone number, itself included."""

    job_id: int
    code: str
    name: str
    email: str
    phone: str
    summary: Message
    booked_at: datetime
    dropoff_at: datetime
    same: int


@read_only
def bookings(_unit: UnitOfWork, session: Session, find: str = "") -> tuple[BookingLine, ...]:
    """Return the newest bookings of private customers, those that have all words of `find`."""
    found = [Job.search.contains(term, autoescape=True) for term in terms_of(find)]
    same = sa.func.count().over(partition_by=Customer.phone)
    rows = session.execute(
        sa.select(
            Job.id,
            Job.code,
            Customer.name,
            Customer.email,
            Customer.phone,
            Job.summary,
            Job.booked_at,
            Job.dropoff_at,
            same,
        )
        .join(Customer, Customer.id == Job.customer_id)
        .where(Job.state == JobState.BOOKED, Job.firm_id.is_(None), *found)
        .order_by(Job.id.desc())
        .limit(A_PAGE)
    )
    return tuple(BookingLine(*row) for row in rows)


@transactional
def call_off_many(
    unit: UnitOfWork,
    session: Session,
    job_ids: Sequence[int],
    reason: str,
    *,
    has_letter: bool,
    who: int,
) -> int:
    """Call bookings off, all or none; return how many. Who was called off meanwhile is passed over.

    Without `has_letter` nobody is written to, and letters of theirs that still wait are withdrawn.
    Raise Refused with the key of a field.
    """
    text = " ".join(reason.split())[:LONGEST_REASON]
    if not job_ids:
        raise Refused(Message("Choose the bookings."), key="jobs")
    if not text:
        raise Refused(Message("Enter the reason."), key="reason")
    done = 0
    for job_id in sorted(job_ids):
        job = lock_job(session, job_id)
        if job.state is not JobState.BOOKED or job.firm_id is not None:
            continue
        end_job(unit, session, job, EventVerb.CALL_OFF, text, who=who)
        if not has_letter:
            withdraw(session, job_id=job.id)
        done += 1
    return done
