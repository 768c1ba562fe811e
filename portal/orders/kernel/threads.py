"""What a customer and the works write to each other about a job: its rows, and how they are read.

A job has one thread of questions, and one for what is wrong after the hand-back.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.job_lock import record_event
from portal.shop.states import Channel, LetterKind, LetterState, ThreadKind
from portal.shop.verbs import EventVerb
from portal.store.letters import Letter
from portal.store.people import Person
from portal.store.tables import Job, Photo, Thread, ThreadEntry

_VERBS = {ThreadKind.QUESTION: EventVerb.QUESTION, ThreadKind.CASE: EventVerb.CASE}
# built once: building a statement costs more than running it
_ENTRIES = (
    sa.select(
        *(Thread.id.label("thread"), Thread.kind, Thread.waits_since, Thread.closed_at),
        *(ThreadEntry.id, ThreadEntry.ours, ThreadEntry.said, ThreadEntry.at),
        sa.func.coalesce(Photo.token, "").label("photo"),
        sa.func.coalesce(Person.name, "").label("by"),
    )
    .join(ThreadEntry, ThreadEntry.thread_id == Thread.id)
    .outerjoin(Photo, Photo.id == ThreadEntry.photo_id)
    .outerjoin(Person, Person.id == ThreadEntry.person_id)
    .where(Thread.job_id == sa.bindparam("job_id"))
    .order_by(ThreadEntry.id)
)


@dataclass(frozen=True, slots=True)
class TalkEntry:
    """One entry: by us or by the customer. `photo` is a token, `by` who of the staff wrote it."""

    id: int
    ours: bool
    said: str
    at: datetime
    photo: str
    by: str


@dataclass(frozen=True, slots=True)
class Talk:
    """A thread with its entries, the oldest first. `waits_since` until somebody has answered."""

    id: int
    kind: ThreadKind
    waits_since: datetime | None
    closed_at: datetime | None
    entries: tuple[TalkEntry, ...]

    @property
    def last_id(self) -> int:
        """The number of the newest entry."""
        return self.entries[-1].id

    @property
    def answered(self) -> bool:
        """Whether the newest entry is our answer."""
        return self.entries[-1].ours


def talks_of(session: Session, job_id: int) -> tuple[Talk, ...]:
    """Return the threads of a job, the questions first."""
    rows = session.execute(_ENTRIES, {"job_id": job_id}).all()
    found = []
    for kind in ThreadKind:
        own = [row for row in rows if row.kind is kind]
        if own:
            entries = tuple(
                TalkEntry(row.id, row.ours, row.said, row.at, row.photo, row.by) for row in own
            )
            one = own[0]
            found.append(Talk(one.thread, kind, one.waits_since, one.closed_at, entries))
    return tuple(found)


def write_by_customer(  # what an entry is, all named
    session: Session, job: Job, kind: ThreadKind, *, said: str, photo_id: int | None, at: datetime
) -> Thread:
    """Add what the customer wrote, and the event; a case that was closed is open again."""
    thread = session.scalar(sa.select(Thread).where(Thread.job_id == job.id, Thread.kind == kind))
    if thread is None:
        thread = Thread(job_id=job.id, kind=kind, opened_at=at)
        session.add(thread)
        session.flush()
    thread.waits_since, thread.closed_at = thread.waits_since or at, None
    session.add(ThreadEntry(thread_id=thread.id, ours=False, said=said, at=at, photo_id=photo_id))
    record_event(session, job, _VERBS[kind], at=at, who=None)
    return thread


def cause_of(thread_id: int, entry_id: int) -> str:
    """Return the cause of the letter with an answer."""
    return f"thread:{thread_id}:{entry_id}"


def undelivered() -> sa.ColumnElement[bool]:
    """Say which threads have an answer whose letter could not be delivered."""
    cause = sa.literal("thread:") + sa.cast(Thread.id, sa.String) + ":%"
    return sa.exists().where(
        Letter.state == LetterState.GIVEN_UP,
        Letter.channel == Channel.EMAIL,
        Letter.kind == LetterKind.ANSWERED,
        Letter.job_id == Thread.job_id,
        Letter.cause.like(cause),
    )


def told_by_phone(session: Session, thread: Thread) -> None:
    """Let a call stand for the letters of a thread that could not be delivered."""
    session.execute(
        sa.update(Letter)
        .where(
            Letter.job_id == thread.job_id,
            Letter.kind == LetterKind.ANSWERED,
            Letter.state == LetterState.GIVEN_UP,
            Letter.cause.startswith(cause_of(thread.id, 0)[:-1], autoescape=True),
        )
        .values(state=LetterState.TAKEN_BACK)
    )


def blank_entries(session: Session, job_id: int) -> None:
    """Empty what was written about a job whose customer is erased; that it was written stays."""
    own = sa.select(Thread.id).where(Thread.job_id == job_id)
    session.execute(
        sa.update(ThreadEntry).where(ThreadEntry.thread_id.in_(own)).values(said="", photo_id=None)
    )


def delete_threads(session: Session, job_ids: Sequence[int] | sa.Select[int]) -> None:
    """Delete the threads of jobs whose time is over."""
    own = sa.select(Thread.id).where(Thread.job_id.in_(job_ids))
    session.execute(sa.delete(ThreadEntry).where(ThreadEntry.thread_id.in_(own)))
    session.execute(sa.delete(Thread).where(Thread.job_id.in_(job_ids)))
