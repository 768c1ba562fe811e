"""Answers to questions from before the booking, by letter or by phone."""

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.letters import QuestionAnswered
from portal.notices.sender import sender_of
from portal.orders.intake.question_rows import queue_letter, undelivered
from portal.orders.kernel.answers import not_too_long, read_answer
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Already, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.retention_times import ASKED_DRAFT_LIVES
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.codes import status_link
from portal.shop.verbs import AuditVerb
from portal.store.tables import Draft, Job, Question


def answer(unit: UnitOfWork, question_id: int, words: str, *, once_token: str, who: int) -> None:
    """Answer a question in words, sent as a letter with the link.

    Raise Refused (no words, key `answer`), Already (somebody has answered it) or Unknown.
    """
    _settle(unit, question_id, read_answer(words), by_letter=True, once_token=once_token, who=who)


def close(unit: UnitOfWork, question_id: int, words: str, *, once_token: str, who: int) -> None:
    """Close a question without a letter: it was answered by phone, or needs no answer.

    A note is optional. One whose letter came back is closed by a call, and keeps its answer. Raise
    as `answer` does.
    """
    _settle(unit, question_id, words, by_letter=False, once_token=once_token, who=who)


@transactional
@idempotent("answer_question")
def _settle(
    unit: UnitOfWork,
    session: Session,
    question_id: int,
    words: str,
    *,
    by_letter: bool,
    once_token: str,  # taken by the decorator
    who: int,
) -> None:
    now, text = unit.now(), not_too_long(words.strip())
    question = session.get(Question, question_id)
    if question is None or question.asked_at is None:
        raise Unknown(Message("We can't find this question."))
    if question.answered_at is None:
        question.answer, question.answered_at = text, now
        question.person_id = who
    elif by_letter or not _came_back(session, question_id):
        raise Already(Message("A colleague has already answered this question."))
    question.by_letter = by_letter
    if by_letter:
        _queue_answer(unit, session, question)
    verb = AuditVerb.ANSWER_QUESTION if by_letter else AuditVerb.CLOSE_QUESTION
    record(session, now, who, verb, Message("question {n}", n=question_id))


def _came_back(session: Session, question_id: int) -> bool:
    query = sa.select(Question.id).where(Question.id == question_id, undelivered())
    return session.scalar(query) is not None


def _queue_answer(unit: UnitOfWork, session: Session, question: Question) -> None:
    link, until = _link(unit, session, question)
    letter = QuestionAnswered(
        sender=sender_of(unit.shop(session), question.locale),
        locale=question.locale,
        link=link,
        name=question.name,
        question=question.text,
        answer=question.answer,
        until=until,
    )
    queue_letter(unit, session, question, letter)


def _link(unit: UnitOfWork, session: Session, question: Question) -> tuple[str, datetime | None]:
    """Return where the customer continues, and until when that is kept where it is a draft."""
    if question.job_id is not None:
        token = session.scalars(sa.select(Job.token).where(Job.id == question.job_id)).one()
        return status_link(unit.base_url, token), None
    row = session.get_one(Draft, question.draft_id)
    row.expires_at = max(row.expires_at, unit.now() + ASKED_DRAFT_LIVES)
    return f"{unit.base_url}/r/{row.token}", row.expires_at
