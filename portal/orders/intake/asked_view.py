"""A customer's own questions, in the draft and later in the order."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.store.tables import Photo, Question


@dataclass(frozen=True, slots=True)
class AskedQuestion:
    """One question with its answer, once there is one; `photo` is the token of its photo.

    A question that was closed without a letter has no `answer` where nothing was written down.
    """

    question_id: int
    text: str
    asked_at: datetime
    photo: str
    answer: str
    answered_at: datetime | None


# built once: building a statement costs more than running it
_ASKED = (
    sa.select(
        Question.id,
        Question.text,
        Question.asked_at,
        sa.func.coalesce(Photo.token, ""),
        Question.answer,
        Question.answered_at,
    )
    .outerjoin(Photo, Photo.id == Question.photo_id)
    .where(Question.asked_at.is_not(None))
    .order_by(Question.asked_at.desc(), Question.id.desc())
)
_IN_DRAFT = _ASKED.where(Question.draft_id == sa.bindparam("which"))
_OF_JOB = _ASKED.where(Question.job_id == sa.bindparam("which"))


def asked_in_draft(session: Session, draft_id: int) -> tuple[AskedQuestion, ...]:
    """Return the questions about a draft, the newest first."""
    rows: Any = session.execute(_IN_DRAFT, {"which": draft_id})
    return tuple(AskedQuestion(*row) for row in rows)


def asked_of_job(session: Session, job_id: int) -> tuple[AskedQuestion, ...]:
    """Return the questions that were asked before a job was booked, the newest first."""
    rows: Any = session.execute(_OF_JOB, {"which": job_id})
    return tuple(AskedQuestion(*row) for row in rows)
