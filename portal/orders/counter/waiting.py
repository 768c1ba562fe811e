"""What keeps a job from going on: answers and colours that its customer has not given yet."""

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.parts import PartSet
from portal.orders.kernel.checks import stop_the_start
from portal.orders.kernel.job_lock import parts_in_production, parts_of
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.transitions import move_job
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.moves import JobState
from portal.shop.states import FindingAnswer
from portal.shop.verbs import EventVerb
from portal.store.jobs import Finding, Job
from portal.store.moves import Move

CHOOSE_FIRST = Message("Choose the colour with the customer first.")


def open_colours(session: Session, job: Job) -> tuple[PartSet, ...]:
    """Return the sets whose colour nobody has chosen yet and whose parts are to be coated."""
    sets = tuple(one for one in declared_of(job).sets if one.colour_open)
    if not sets:
        return ()
    wanted = {part.set_key for part in parts_in_production(parts_of(session, job.id))}
    return tuple(one for one in sets if one.key in wanted)


def go_on_when_nothing_waits(
    unit: UnitOfWork, session: Session, job: Job, *, who: int | None
) -> None:
    """Start work again on a waiting job when its customer has answered and chosen everything.

    A test that comes before all work keeps it from starting.
    """
    waits = count_open_findings(session, job.id) or open_colours(session, job)
    if job.state is JobState.WAITING and not waits:
        tests = stop_the_start(session, parts_in_production(parts_of(session, job.id)))
        move_job(
            session, job.id, EventVerb.RESUME if tests else EventVerb.START, at=unit.now(), who=who
        )


def go_on_if_agreed(unit: UnitOfWork, session: Session, job: Job, *, who: int | None) -> None:
    """Let a waiting job go on after the last answer; a no leaves the next step to the counter."""
    if job.state is not JobState.WAITING or count_open_findings(session, job.id):
        return
    # with nothing left to work on, how the job ends is the counter's to say as well
    parts = parts_in_production(parts_of(session, job.id))
    able = parts and not open_colours(session, job) and not stop_the_start(session, parts)
    goes_on = able and not was_declined(session, job.id)
    move_job(
        session, job.id, EventVerb.START if goes_on else EventVerb.RESUME, at=unit.now(), who=who
    )


def was_declined(session: Session, job_id: int) -> bool:
    """Whether the customer said no to a finding since work on the job last began.

    Who began the work after a no has decided what comes of it.
    """
    begun = sa.select(sa.func.max(Move.id)).where(
        Move.job_id == job_id, Move.verb == EventVerb.START
    )
    answers = sa.select(Move.data).where(
        Move.job_id == job_id,
        Move.verb == EventVerb.SETTLE,
        Move.id > (session.scalar(begun) or 0),
    )
    return any(data.get("answer") == FindingAnswer.DECLINED for data in session.scalars(answers))


def count_open_findings(session: Session, job_id: int) -> int:
    """How many findings of a job wait for an answer."""
    query = sa.select(sa.func.count()).where(
        Finding.job_id == job_id, Finding.answer == FindingAnswer.OPEN
    )
    return session.scalar(query) or 0
