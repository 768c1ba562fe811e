"""The rows of questions in other use cases: booked with a draft, ended, erased."""

from collections.abc import Iterable, Sequence

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.notices.letters import AnyLetter
from portal.notices.outbox import queue
from portal.orders.intake.drafts import resume_causes
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.states import LetterKind, LetterState
from portal.store.tables import Draft, Letter, Photo, Question

LETTERS = (LetterKind.QUESTION_ASKED, LetterKind.QUESTION_ANSWERED)


def to_job(session: Session, draft_id: int, job_id: int) -> None:
    """Let the questions and letters of a draft go with its job."""
    _delete(session, Question.draft_id == draft_id, Question.asked_at.is_(None))
    asked = session.scalars(sa.select(Question.id).where(Question.draft_id == draft_id)).all()
    session.execute(sa.update(Question).where(Question.draft_id == draft_id).values(job_id=job_id))
    session.execute(sa.update(Letter).where(_about(asked, [draft_id])).values(job_id=job_id))


def delete_drafts(session: Session, draft_ids: Sequence[int]) -> None:
    """Delete drafts with everything that belongs to them; what went with a job stays with it."""
    _end_with_drafts(session, draft_ids)
    own = sa.and_(Photo.draft_id.in_(draft_ids), Photo.job_id.is_(None))
    session.execute(sa.delete(Photo).where(own))
    session.execute(sa.update(Photo).where(Photo.draft_id.in_(draft_ids)).values(draft_id=None))
    session.execute(sa.delete(Draft).where(Draft.id.in_(draft_ids)))


def _end_with_drafts(session: Session, draft_ids: Sequence[int]) -> None:
    """Delete the questions, their photos and the letters of drafts."""
    without_job = sa.and_(Question.draft_id.in_(draft_ids), Question.job_id.is_(None))
    asked = session.scalars(sa.select(Question.id).where(without_job)).all()
    session.execute(sa.delete(Letter).where(_about(asked, draft_ids)))
    _delete(session, without_job)
    session.execute(
        sa.update(Question).where(Question.draft_id.in_(draft_ids)).values(draft_id=None)
    )


def erase_of_job(session: Session, job_id: int) -> None:
    """Delete the questions of a job whose customer is erased."""
    _delete(session, Question.job_id == job_id)


def drop_photo(session: Session, question: Question) -> None:
    """Delete the photo of a question that is being written."""
    if question.photo_id is None:
        return
    photo_id, question.photo_id = question.photo_id, None
    session.flush()
    session.execute(sa.delete(Photo).where(Photo.id == photo_id))


def cause_of(question_id: int) -> str:
    """Return the cause that the letters of a question have."""
    return f"question:{question_id}"


def undelivered() -> sa.ColumnElement[bool]:
    """Say which questions have an answer whose letter could not be delivered."""
    cause = sa.literal("question:") + sa.cast(Question.id, sa.String)
    given_up = sa.exists().where(
        Letter.kind == LetterKind.QUESTION_ANSWERED,
        Letter.cause == cause,
        Letter.state == LetterState.GIVEN_UP,
    )
    return sa.and_(Question.by_letter, given_up)


def queue_letter(unit: UnitOfWork, session: Session, question: Question, letter: AnyLetter) -> None:
    """Put a letter about a question into the outbox of the caller's transaction."""
    queue(
        session,
        letter,
        job_id=question.job_id,
        cause=cause_of(question.id),
        to=question.email,
        at=unit.now(),
        random_bytes=unit.random_bytes,
    )


def _about(question_ids: Iterable[int], draft_ids: Iterable[int]) -> sa.ColumnElement[bool]:
    """Say which letters of no job are about these questions, or resume these drafts."""
    asked = sa.and_(
        Letter.kind.in_(LETTERS), Letter.cause.in_([cause_of(one) for one in question_ids])
    )
    resumed = sa.and_(
        Letter.kind == LetterKind.RESUME_LINK,
        Letter.cause.in_([cause for one in draft_ids for cause in resume_causes(one)]),
    )
    return sa.and_(Letter.job_id.is_(None), sa.or_(asked, resumed))


def _delete(session: Session, *which: sa.ColumnElement[bool]) -> None:
    """Delete questions and their photos."""
    photos = session.scalars(
        sa.select(Question.photo_id).where(*which, Question.photo_id.is_not(None))
    ).all()
    session.execute(sa.delete(Question).where(*which))
    session.execute(sa.delete(Photo).where(Photo.id.in_(photos)))
