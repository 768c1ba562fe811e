"""Work on a job starts when nothing waits any more: no answer, no colour, no test."""

from sqlalchemy.orm import Session

from portal.orders.counter.waiting import (
    count_open_findings,
    go_on_when_nothing_waits,
    open_colours,
    was_declined,
)
from portal.orders.kernel.checks import stop_the_start
from portal.orders.kernel.job_lock import parts_in_production, parts_of
from portal.orders.kernel.transitions import move_job
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.moves import JobState
from portal.shop.verbs import EventVerb
from portal.store.jobs import Job


def start_if_nothing_waits(
    unit: UnitOfWork, session: Session, job: Job, *, who: int | None
) -> None:
    """Start work on a job that only a test or an answer kept from it; the job must be locked.

    Where the customer declined something the next step is the counter's.
    """
    session.refresh(job)
    go_on_when_nothing_waits(unit, session, job, who=who)
    session.refresh(job)
    if job.state is not JobState.RECEIVED:
        return
    parts = parts_in_production(parts_of(session, job.id))
    waits = (
        not parts
        or count_open_findings(session, job.id)
        or open_colours(session, job)
        or was_declined(session, job.id)
        or stop_the_start(session, parts)
    )
    if not waits:
        move_job(session, job.id, EventVerb.START, at=unit.now(), who=who)
