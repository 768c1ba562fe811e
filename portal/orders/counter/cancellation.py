"""Jobs that end before their work is done: not brought, cancelled, or refused."""

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter.check_in import free_tag
from portal.orders.counter.lost import retire_lost_tags
from portal.orders.kernel.booking_letter import queue_called_off
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.issuing import CANCELLED, follow_account
from portal.orders.kernel.job_lock import lock_job, parts_of, parts_on_site
from portal.orders.kernel.notifications import letter_not_brought
from portal.orders.kernel.posting import post_end
from portal.orders.kernel.transitions import move_job
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.production.oven import out_of_open_load
from portal.orders.production.strip_runs import away_in, count_without
from portal.shop.calendar.closures import is_shut_at
from portal.shop.verbs import EventVerb
from portal.store.bookings import Booking
from portal.store.jobs import Job

LONGEST_REASON = 300


@transactional
def mark_no_show(unit: UnitOfWork, session: Session, job_id: int, *, who: int | None) -> None:
    """Mark a booked job as not brought, and ask its customer."""
    job = lock_job(session, job_id)
    if unit.now() < job.dropoff_until:
        raise Refused(Message("The drop-off time is not over yet."))
    week = unit.shop(session).week
    if is_shut_at(week, week.drop_off, job.dropoff_at):
        raise Refused(
            Message("We were closed at that time. Move the drop-off, or cancel the order.")
        )
    move_job(session, job_id, EventVerb.MISS, at=unit.now(), who=who)
    session.refresh(job)
    letter_not_brought(unit, session, job)


def call_off(unit: UnitOfWork, job_id: int, reason: str, *, who: int | None) -> None:
    """End a job at its customer's wish; its tags become free."""
    _end(unit, job_id, EventVerb.CALL_OFF, reason, who=who)


def turn_away(unit: UnitOfWork, job_id: int, reason: str, *, who: int | None) -> None:
    """End a job that can't be done; its tags become free."""
    _end(unit, job_id, EventVerb.TURN_AWAY, reason, who=who)


@transactional
def _end(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    verb: EventVerb,
    reason: str,
    *,
    who: int | None,
) -> None:
    text = " ".join(reason.split())[:LONGEST_REASON]
    if not text:
        raise Refused(Message("Enter the reason."), key="reason")

    end_job(unit, session, lock_job(session, job_id), verb, text, who=who)


def end_job(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    verb: EventVerb,
    note: str,
    *,
    keep_minor: int = 0,
    who: int | None,
) -> None:
    """End a job that is locked; `keep_minor` of its price stays charged."""
    parts = parts_of(session, job.id)
    run = away_in(session, [part.id for part in parts_on_site(parts)])
    if run is not None:
        raise Refused(
            Message("Some parts are away in strip run {run}. Count them back in first.", run=run)
        )
    expected = job.state.is_expected
    move_job(session, job.id, verb, at=unit.now(), who=who, note=note)
    session.refresh(job)
    post_end(unit, session, job, keep_minor=keep_minor, who=who)
    follow_account(unit, session, job, reason=CANCELLED, who=who)
    if expected:
        queue_called_off(unit, session, job)
    # its drop-off place is free for somebody else
    session.execute(sa.delete(Booking).where(Booking.job_id == job.id))
    retire_lost_tags(unit, session, job, who=who)
    for part in parts:
        out_of_open_load(session, part.id, at=unit.now())
        count_without(unit, session, part)
        if part.tag is not None:
            free_tag(session, job, part, unit=unit, who=who)
