"""Notes on a job by staff for staff: at one station, or wherever the job is.

No page, letter or paper of a customer shows them; they are erased with the customer's data. The log
says that there was one, never what it said.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Already, Refused
from portal.orders.kernel.job_lock import lock_job, record_event
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.moves import JobState
from portal.shop.route import ON_THE_FLOOR, PartStage
from portal.shop.verbs import EventVerb
from portal.store.jobs import JobNote
from portal.store.people import Person

LONGEST_NOTE = 400
MOST_NOTES = 20
# built once: building a statement costs more than running it
_NOTES = (
    sa.select(JobNote.id, JobNote.job_id, JobNote.stage, JobNote.note, JobNote.at, Person.name)
    .outerjoin(Person, Person.id == JobNote.person_id)
    .where(JobNote.job_id.in_(sa.bindparam("job_ids", expanding=True)))
    .order_by(JobNote.id)
)


@dataclass(frozen=True, slots=True)
class NoteView:
    """A note, by whom and when; `stage` None where it holds everywhere."""

    id: int
    job_id: int
    stage: PartStage | None
    text: str
    at: datetime
    by: str

    def told_at(self, stage: PartStage) -> bool:
        """Tell whether a card at a station shows it."""
        return self.stage in (None, stage)


@transactional
def write_note(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    text: str,
    *,
    stage: PartStage | None,
    who: int | None,
) -> None:
    """Write a note on a job; `stage` is the station where it matters."""
    said = " ".join(text.split())
    if not said:
        raise Refused(Message("Enter the note."), key="text")
    if len(said) > LONGEST_NOTE:
        raise Refused(Message("Use at most {most} characters.", most=LONGEST_NOTE), key="text")
    if stage is not None and stage not in ON_THE_FLOOR:
        raise Refused(Message("Choose a station."), key="stage")

    job = lock_job(session, job_id)
    if not (job.state.is_open or job.state is JobState.READY):
        raise Refused(Message("This job is over, so it takes no more notes."), key="text")
    count = session.scalar(sa.select(sa.func.count()).where(JobNote.job_id == job_id)) or 0
    if count >= MOST_NOTES:
        raise Refused(Message("Remove a note first: a job has at most {most}.", most=MOST_NOTES))
    session.add(JobNote(job_id=job_id, stage=stage, note=said, at=unit.now(), person_id=who))
    record_event(session, job, EventVerb.NOTE, at=unit.now(), who=who)


@transactional
def remove_note(
    unit: UnitOfWork, session: Session, job_id: int, note_id: int, *, who: int | None
) -> None:
    """Remove a note that is no longer true."""
    job = lock_job(session, job_id)
    note = session.scalar(sa.select(JobNote).where(JobNote.id == note_id, JobNote.job_id == job_id))
    if note is None:
        raise Already(Message("This note is removed already."))
    session.delete(note)
    record_event(session, job, EventVerb.NOTE_OFF, at=unit.now(), who=who)


def notes_of(session: Session, job_ids: Sequence[int]) -> dict[int, tuple[NoteView, ...]]:
    """Return the notes on jobs, the oldest first."""
    found: dict[int, list[NoteView]] = {}
    for row in session.execute(_NOTES, {"job_ids": list(job_ids)}):
        note = NoteView(row.id, row.job_id, row.stage, row.note, row.at, row.name or "")
        found.setdefault(row.job_id, []).append(note)
    return {job_id: tuple(notes) for job_id, notes in found.items()}
