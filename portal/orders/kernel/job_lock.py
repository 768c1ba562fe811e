"""Take hold of a job for an edit: lock it, see what others changed meanwhile, note what was done.

A page carries the number of the last event that it shows, and a save names it as
`expected_event_id`. When others have come after it, the answer says what happened instead of
writing over it.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Overtaken, Unknown
from portal.orders.kernel.event_words import EVENT, Event, event_clause
from portal.shop.moves import JobState
from portal.shop.states import Arrival
from portal.shop.verbs import ONLY_SAID, EventVerb
from portal.store.jobs import Job, Part
from portal.store.moves import Move
from portal.store.people import Person

NOTE_LENGTH = 400
NO_JOB = Message("We can't find this job.")
NO_PART = Message("We can't find this part.")
NOT_HERE = (Arrival.MISSING, Arrival.LOST)
NOT_WORKED_ON = (*NOT_HERE, Arrival.TURNED_AWAY)
SPELT_OUT = 3  # so many changes are spelt out; the page shows the rest anyway
# built once: building a statement costs more than running it
_OF_JOB: sa.BindParameter[int] = sa.bindparam("job_id")
_LOCKED = sa.select(Job).where(Job.id == _OF_JOB).with_for_update()
_PARTS = sa.select(Part).where(Part.job_id == _OF_JOB).order_by(Part.number)
_LAST_EVENT = sa.select(sa.func.max(Move.id)).where(Move.job_id == _OF_JOB)


def lock_job(session: Session, job_id: int) -> Job:
    """Return the job's row, locked until the end of the transaction; Unknown when there is none."""
    job = session.scalar(_LOCKED, {"job_id": job_id})
    if job is None:
        raise Unknown(NO_JOB)
    return job


def load_job(session: Session, job_id: int) -> Job:
    """Return the job's row without a lock, to look at; Unknown when there is none."""
    job = session.get(Job, job_id)
    if job is None:
        raise Unknown(NO_JOB)
    return job


def load_part(session: Session, part_id: int, *, locked: bool = False) -> Part:
    """Return a part's row as it stands in the database; Unknown when there is none."""
    part = session.get(Part, part_id, populate_existing=True, with_for_update=locked)
    if part is None:
        raise Unknown(NO_PART)
    return part


def not_now(state: JobState) -> Message:
    """Return the sentence for an act that the state of a job does not allow."""
    return Message("You can't do this now: the job is at “{state}”.", state=state)


def parts_of(session: Session, job_id: int) -> list[Part]:
    """Return the parts of a job that are here or still expected, in order of their numbers."""
    return list(session.scalars(_PARTS, {"job_id": job_id}))


def parts_on_site(parts: Sequence[Part]) -> list[Part]:
    """The parts that the shop has and gives back."""
    return [part for part in parts if part.arrived not in NOT_HERE]


def parts_in_production(parts: Sequence[Part]) -> list[Part]:
    """The parts that go through the floor: those that are here and can be done."""
    return [part for part in parts if part.arrived not in NOT_WORKED_ON]


def last_event(session: Session, job_id: int) -> int:
    """Return the number of the job's latest event, 0 before the first."""
    return session.scalar(_LAST_EVENT, {"job_id": job_id}) or 0


def refuse_if_overtaken(session: Session, job_id: int, expected_event_id: int) -> None:
    """Raise Overtaken, naming what changed, when events have come after `expected_event_id`.

    Call it with the job held, so that nothing can slip in between.
    """
    query = (
        sa.select(*EVENT, Person.name, Part.number)
        .outerjoin(Person, Person.id == Move.person_id)
        .outerjoin(Part, Part.id == Move.part_id)
        .where(Move.job_id == job_id, Move.id > expected_event_id, Move.verb.not_in(ONLY_SAID))
        .order_by(Move.id)
    )
    rows = session.execute(query).all()
    if rows:
        clauses = [event_clause(Event(*event), who, part) for *event, who, part in rows[:SPELT_OUT]]
        raise Overtaken(_sentence(clauses, len(rows) - len(clauses)))


def _sentence(clauses: list[Message], more: int) -> Message:
    listed = tuple(clauses)
    if more:
        return Message(
            "Someone changed this in the meantime: {listed}; and {more} more. Your entries "
            "are still here. Check them, then save again.",
            listed=listed,
            more=more,
        )
    return Message(
        "Someone changed this in the meantime: {listed}. Your entries are still here. Check "
        "them, then save again.",
        listed=listed,
    )


def record_event(  # noqa: PLR0913  # an event has this many sides, all named
    session: Session,
    job: Job,
    verb: EventVerb,
    *,
    at: datetime,
    who: int | None,
    part_id: int | None = None,
    note: str = "",
    says: Message | None = None,
    data: dict[str, Any] | None = None,
) -> int:
    """Add an event that moves nothing (a tag given, a bag noted) and return its number.

    `note` is what somebody typed, `says` what the house states.
    """
    stands = JobState(job.state)
    move = Move(
        job_id=job.id,
        part_id=part_id,
        verb=verb,
        from_=stands,
        to=stands,
        at=at,
        person_id=who,
        note=note[:NOTE_LENGTH],
        says=says,
        data=data or {},
    )
    session.add(move)
    session.flush()
    return move.id
