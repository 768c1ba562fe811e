"""Ready parts that nobody collects: reminders, then an end by the shop's rule.

The rule stands in the shop's document (`KeepRules`) and in its terms. The end frees tags and shelf;
what the customer owes stays owed, and what may be done with the parts is the law's to say.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter.check_in import free_tag
from portal.orders.counter.lost import retire_lost_tags
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.issuing import follow_account
from portal.orders.kernel.job_lock import lock_job, not_now, parts_of, record_event
from portal.orders.kernel.notifications import letter_not_fetched
from portal.orders.kernel.transitions import move_job
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.moves import JobState
from portal.shop.verbs import EventVerb
from portal.shop.works import KeepRules
from portal.store.jobs import Job
from portal.store.moves import Move

LONGEST_REASON = 300
MOST_REMINDERS = 3  # of one order, however often its parts are put on the shelf


@dataclass(frozen=True, slots=True)
class KeptUntil:
    """Until when a ready job is kept, and whether that is over; aware UTC."""

    until: datetime
    over: bool


def kept_until(rules: KeepRules, ready_at: datetime) -> datetime:
    """Return until when the parts of a job are kept that is ready since `ready_at`."""
    return ready_at + timedelta(days=rules.keep_ready_days)


def reminders_of(rules: KeepRules, ready_at: datetime, most: int) -> tuple[datetime, ...]:
    """Return when a customer is reminded: some time after it is ready, and before the end.

    Where `most` is less, those before the end are the ones that are left.
    """
    first = ready_at + timedelta(days=rules.remind_after_days)
    last = kept_until(rules, ready_at) - timedelta(days=rules.last_reminder_days)
    every = (first, last) if first < last else (first,)
    return every[-most:] if most > 0 else ()


@read_only
def kept_for_pickup(unit: UnitOfWork, session: Session, job_id: int) -> KeptUntil | None:
    """Return until when a ready job is kept; None where nothing waits to be collected."""
    query = sa.select(Job.ready_at).where(Job.id == job_id, Job.state == JobState.READY)
    ready_at = session.scalar(query)
    if ready_at is None:
        return None
    until = kept_until(unit.shop(session).keeping, ready_at)
    return KeptUntil(until, unit.now() >= until)


@transactional
def remind_unfetched(unit: UnitOfWork, session: Session) -> int:
    """Send the reminders that are due, each once; return how many were sent."""
    rules, now = unit.shop(session).keeping, unit.now()
    ids = session.scalars(
        sa.select(Job.id).where(
            Job.state == JobState.READY,
            Job.ready_at <= now - timedelta(days=rules.remind_after_days),
        )
    ).all()
    return sum(_remind(unit, session, lock_job(session, one), rules, now) for one in ids)


def _remind(unit: UnitOfWork, session: Session, job: Job, rules: KeepRules, now: datetime) -> bool:
    if job.state is not JobState.READY or job.ready_at is None:
        return False
    query = sa.select(Move.at).where(Move.job_id == job.id, Move.verb == EventVerb.REMINDED)
    sent = session.scalars(query).all()
    before = sum(at < job.ready_at for at in sent)
    planned = reminders_of(rules, job.ready_at, MOST_REMINDERS - before)
    if sum(at <= now for at in planned) <= len(sent) - before:
        return False
    letter_not_fetched(unit, session, job, until=kept_until(rules, job.ready_at))
    record_event(session, job, EventVerb.REMINDED, at=now, who=None)
    return True


@transactional
def end_unfetched(
    unit: UnitOfWork, session: Session, job_id: int, reason: str, *, who: int | None
) -> None:
    """End a job that nobody collects, once the shop's time is over; its tags become free.

    `reason` says where the parts are now. Refused before the time is over.
    """
    text = " ".join(reason.split())[:LONGEST_REASON]
    job = lock_job(session, job_id)
    rules = unit.shop(session).keeping
    if job.ready_at is not None and unit.now() < kept_until(rules, job.ready_at):
        raise Refused(
            Message(
                "The parts are kept for {days} days. They can be ended then.",
                days=rules.keep_ready_days,
            )
        )
    if not text:
        raise Refused(Message("Enter where the parts are now."), key="reason")
    move_job(session, job_id, EventVerb.NOT_FETCHED, at=unit.now(), who=who, note=text)
    session.refresh(job)
    job.shelf = ""
    # the work was done: it is charged, and what is owed stays owed
    follow_account(unit, session, job, who=who)
    retire_lost_tags(unit, session, job, who=who)
    _free_tags(unit, session, job, who=who)


@transactional
def back_on_shelf(unit: UnitOfWork, session: Session, job_id: int, *, who: int | None) -> None:
    """Put an ended job back on the shelf, because its customer came after all."""
    job = lock_job(session, job_id)
    if job.state is not JobState.NOT_FETCHED:
        raise Refused(not_now(job.state))
    move_job(session, job_id, EventVerb.MAKE_READY, at=unit.now(), who=who)


def _free_tags(unit: UnitOfWork, session: Session, job: Job, *, who: int | None) -> None:
    for part in parts_of(session, job.id):
        if part.tag is not None:
            free_tag(session, job, part, unit=unit, who=who)
