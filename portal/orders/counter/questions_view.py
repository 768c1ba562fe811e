"""Questions as the counter sees them: who waits for an answer, and about which order."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.declared import read_declared
from portal.craft.messages import CraftError, Message
from portal.craft.parts import PartSet
from portal.orders.intake.draft_answers import Answers, Step
from portal.orders.intake.draft_view import assessed, still_offered
from portal.orders.intake.question_rows import undelivered
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.assessment.assess import Assessment
from portal.shop.states import PhotoPurpose
from portal.store.tables import Draft, Job, Person, Photo, Question

ANSWERED_SHOWN = 20


@dataclass(frozen=True, slots=True)
class QuestionLine:
    """One question in a list; `code` names its job once it is booked.

    `undelivered` when its answer could not be delivered: its customer is to be called.
    """

    question_id: int
    name: str
    text: str
    asked_at: datetime
    answered_at: datetime | None
    sets: tuple[PartSet, ...]
    code: str
    undelivered: bool


@dataclass(frozen=True, slots=True)
class QuestionView:
    """One question, whole, with the order as it stood when it was asked.

    `typed` are label and value of what stood on a page that was not finished. `went_on` tells
    that the customer has changed the order since. `link` leads to the draft as the customer sees
    it, or to the job.
    """

    line: QuestionLine
    email: str
    phone: str
    locale: str
    photo: str
    step: Step
    typed: tuple[tuple[str, str], ...]
    assessment: Assessment | None
    photos: Mapping[str, tuple[str, ...]]
    went_on: bool
    until: datetime | None
    link: str
    answer: str
    by_letter: bool
    answered_by: str
    others: tuple[QuestionLine, ...] = field(default=())

    @property
    def sets(self) -> tuple[PartSet, ...]:
        """The sets of the order at the time of the question."""
        return self.line.sets


@read_only
def to_answer(_unit: UnitOfWork, session: Session) -> tuple[QuestionLine, ...]:
    """Return the questions whose customers wait for an answer, the oldest first.

    One that was answered by a letter that came back waits too.
    """
    waiting = _LINES.where(_SENT, sa.or_(Question.answered_at.is_(None), undelivered()))
    return _lines(session, waiting.order_by(Question.asked_at, Question.id))


@read_only
def answered_lately(_unit: UnitOfWork, session: Session) -> tuple[QuestionLine, ...]:
    """Return the questions that were answered last, the newest first."""
    lately = _LINES.where(Question.answered_at.is_not(None))
    return _lines(session, lately.order_by(Question.answered_at.desc()).limit(ANSWERED_SHOWN))


@read_only
def question_view(unit: UnitOfWork, session: Session, question_id: int) -> QuestionView:
    """Return one question; raises Unknown."""
    lines = _lines(session, _LINES.where(Question.id == question_id, _SENT))
    row = session.get(Question, question_id)
    if row is None or not lines:
        raise Unknown(Message("We can't find this question."))
    draft = session.get(Draft, row.draft_id) if row.draft_id else None
    job_token = session.scalar(sa.select(Job.token).where(Job.id == row.job_id))
    answered_by = session.scalar(sa.select(Person.name).where(Person.id == row.person_id))
    link = f"/J/{job_token}" if job_token else f"/r/{draft.token}" if draft else ""
    return QuestionView(
        line=lines[0],
        email=row.email,
        phone=row.phone,
        locale=row.locale,
        photo=session.scalar(sa.select(Photo.token).where(Photo.id == row.photo_id)) or "",
        step=Step(row.snapshot["step"]),
        typed=tuple((label, value) for label, value in row.snapshot.get("typed", ())),
        assessment=_assessment(unit, session, row),
        photos=_photos(session, row),
        went_on=draft is not None and draft.version != row.draft_version,
        until=draft.expires_at if draft and not job_token else None,
        link=link,
        answer=row.answer,
        by_letter=row.by_letter,
        answered_by=answered_by or "",
        others=_others(session, row),
    )


_SENT = Question.asked_at.is_not(None)
_LINES = sa.select(
    Question.id,
    Question.name,
    Question.text,
    Question.asked_at,
    Question.answered_at,
    Question.snapshot,
    sa.func.coalesce(Job.code, "").label("code"),
    undelivered().label("undelivered"),
).outerjoin(Job, Job.id == Question.job_id)


def _lines(session: Session, query: Any) -> tuple[QuestionLine, ...]:
    return tuple(
        QuestionLine(
            row.id,
            row.name,
            row.text,
            row.asked_at,
            row.answered_at,
            read_declared(row.snapshot["declared"]).sets,
            row.code,
            bool(row.undelivered),
        )
        for row in session.execute(query)
    )


def _others(session: Session, row: Question) -> tuple[QuestionLine, ...]:
    same = (
        Question.draft_id == row.draft_id
        if row.draft_id is not None
        else Question.job_id == row.job_id
    )
    query = _LINES.where(same, _SENT, Question.id != row.id).order_by(Question.asked_at)
    return _lines(session, query)


def _assessment(unit: UnitOfWork, session: Session, row: Question) -> Assessment | None:
    """Return what the order as asked about comes to today; None where that can't be said."""
    shop = unit.shop(session)
    answers = Answers(
        declared=read_declared(row.snapshot["declared"]), saved=dict(row.snapshot.get("saved", {}))
    )
    if not answers.declared.sets:
        return None
    try:
        return assessed(still_offered(answers, shop), shop, unit.now())
    except CraftError:
        return None


def _photos(session: Session, row: Question) -> dict[str, tuple[str, ...]]:
    same = Photo.job_id == row.job_id if row.job_id is not None else Photo.draft_id == row.draft_id
    query = sa.select(Photo.set_key, Photo.token).where(
        same, Photo.purpose == PhotoPurpose.DECLARED
    )
    found: dict[str, tuple[str, ...]] = {}
    for key, token in session.execute(query.order_by(Photo.id)):
        found[key] = (*found.get(key, ()), token)
    return found
