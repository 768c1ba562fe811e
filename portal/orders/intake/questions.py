"""A question before booking: written, and sent with the draft as it stands.

A question keeps its draft longer than an answer to a page does. Its letter only confirms receipt: a
text that a stranger typed is never sent to an address that the same stranger typed.
"""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, BinaryIO

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.declared import write_declared
from portal.craft.messages import Message
from portal.notices.letters import QuestionAsked
from portal.notices.sender import sender_of
from portal.orders.access.rate_limit import count_a_try
from portal.orders.intake.draft_answers import Answers, Step, reach, read_answers, write_answers
from portal.orders.intake.drafts import draft_row
from portal.orders.intake.question_rows import drop_photo, queue_letter
from portal.orders.intake.strangers import count_letter, letter_keys
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.photos import Belongs, Picture, put_photo, read_picture
from portal.orders.kernel.retention_times import ASKED_DRAFT_LIVES
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.states import PhotoPurpose, TellBy
from portal.store.tables import Draft, Photo, Question

LONGEST_QUESTION = 2000
# a few are enough; more would let a stranger fill the counter's list
MOST_OPEN, MOST = 3, 12


@dataclass(frozen=True, slots=True)
class Asking:
    """What the customer sends. `phone` is E.164, or nothing."""

    text: str
    name: str
    email: str
    phone: str = ""


def as_it_stands(
    answers: Answers, step: Step, typed: Iterable[tuple[str, str]] = ()
) -> dict[str, Any]:
    """Return a draft as a question takes it along: `typed` stands on a page that is unfinished."""
    return {
        "declared": write_declared(answers.declared),
        "saved": dict(answers.saved),
        "step": step.value,
        "typed": [[label, value] for label, value in typed],
    }


@transactional
def prepare(unit: UnitOfWork, session: Session, token: str, snapshot: Mapping[str, Any]) -> None:
    """Save the draft as it stands on the page from which somebody is about to ask."""
    now = unit.now()
    row = _open_draft(session, token, now)
    unsent = _unsent(session, row)
    unsent.snapshot, unsent.draft_version = dict(snapshot), row.version


def keep_photo(unit: UnitOfWork, token: str, stream: BinaryIO, *, limit_mb: int) -> None:
    """Save the photo of the unsent question; a second one replaces the first."""
    _put_photo(unit, token, read_picture(stream, limit_mb=limit_mb))


@transactional
def _put_photo(unit: UnitOfWork, session: Session, token: str, picture: Picture) -> None:
    row = _open_draft(session, token, unit.now())
    unsent = _unsent(session, row)
    drop_photo(session, unsent)
    belongs = Belongs(PhotoPurpose.QUESTION, draft_id=row.id)
    unsent.photo_id = put_photo(unit, session, picture, belongs).id


@transactional
def remove_photo(unit: UnitOfWork, session: Session, token: str) -> None:
    """Delete the photo of the unsent question."""
    drop_photo(session, _unsent(session, _open_draft(session, token, unit.now())))


@read_only
def unsent_photo(unit: UnitOfWork, session: Session, token: str) -> str:
    """Return the token of the photo of the question that is being written, or nothing."""
    row = draft_row(session, token, unit.now())
    found = session.scalar(
        sa.select(Photo.token)
        .join(Question, Question.photo_id == Photo.id)
        .where(Question.draft_id == row.id, Question.asked_at.is_(None))
    )
    return found or ""


@transactional
def ask(
    unit: UnitOfWork,
    session: Session,
    token: str,
    asking: Asking,
    *,
    once_token: str,
    address: str,
    locale: str = "",
) -> None:
    """Send the question with the draft as it stands; `locale` is the language of its letters.

    Raises Refused with the `key` of a field, Refused or RateLimited where too many were sent, and
    Unknown or Expired for the draft. Pressing twice is one question.
    """
    text = asking.text.strip()
    if not text:
        raise Refused(Message("Enter your question."), key="question")
    if len(text) > LONGEST_QUESTION:
        raise Refused(Message("Use at most {n} characters.", n=LONGEST_QUESTION), key="question")

    row = _open_draft(session, token, unit.now())
    counted = _keys(address, asking.email), letter_keys(asking.email, address)
    asking = replace(asking, text=text)
    _ask(unit, session, row, asking, counted, once_token=once_token, locale=locale or row.locale)


@idempotent("ask", answer="question")
def _ask(
    unit: UnitOfWork,
    session: Session,
    row: Draft,
    asking: Asking,
    counted: tuple[list[str], list[str]],
    *,
    once_token: str,  # taken by the decorator
    locale: str,
) -> int:
    _must_not_be_many(session, row)
    count_a_try(session, counted[0], unit.now())
    count_letter(session, counted[1], unit.now())
    row.locale = locale
    return _send(unit, session, row, asking)


def _open_draft(session: Session, token: str, now: datetime) -> Draft:
    row = draft_row(session, token, now)
    if row.job_id is not None:
        raise Refused(Message("This order is booked. Call us with your question."))
    return row


def _unsent(session: Session, row: Draft) -> Question:
    """Return the question that is being written about this draft; a new one where there is none."""
    found = session.scalars(
        sa.select(Question).where(Question.draft_id == row.id, Question.asked_at.is_(None))
    ).first()
    if found is None:
        found = Question(
            draft_id=row.id,
            locale=row.locale,
            snapshot=_answers_so_far(row),
            draft_version=row.version,
        )
        session.add(found)
        session.flush()
    return found


def _answers_so_far(row: Draft) -> dict[str, Any]:
    answers = read_answers(row.answers)
    return as_it_stands(answers, reach(answers))


def _must_not_be_many(session: Session, row: Draft) -> None:
    waiting = sa.func.count(sa.case((Question.answered_at.is_(None), 1)))
    every, still = session.execute(
        sa.select(sa.func.count(), waiting).where(
            Question.draft_id == row.id, Question.asked_at.is_not(None)
        )
    ).one()
    if still >= MOST_OPEN:
        raise Refused(
            Message("We have {n} questions from you. Wait for our answer, or call us.", n=still)
        )
    if every >= MOST:
        raise Refused(Message("We have {n} questions about this order. Call us instead.", n=every))


def _keys(address: str, email: str) -> list[str]:
    """Return what is counted: who asks from one place, and who gets our letters."""
    return [
        f"{kind}:{hashlib.sha256(text.encode()).hexdigest()[:32]}"
        for kind, text in (("ask", address), ("asked", email.lower()))
    ]


def _send(unit: UnitOfWork, session: Session, row: Draft, asking: Asking) -> int:
    now = unit.now()
    question = _unsent(session, row)
    if question.draft_version != row.version:
        # the order went on in another window since
        question.snapshot, question.draft_version = _answers_so_far(row), row.version
    question.text, question.asked_at, question.locale = asking.text, now, row.locale
    question.name, question.email, question.phone = asking.name, asking.email, asking.phone
    row.expires_at = max(row.expires_at, now + ASKED_DRAFT_LIVES)
    _fill_contact(row, asking)
    session.flush()
    letter = QuestionAsked(
        sender=sender_of(unit.shop(session), row.locale),
        locale=row.locale,
        link=f"{unit.base_url}/r/{row.token}",
        until=row.expires_at,
    )
    queue_letter(unit, session, question, letter)
    return question.id


def _fill_contact(row: Draft, asking: Asking) -> None:
    """Let the page of the contact begin with what was told here: nobody is asked twice."""
    answers = read_answers(row.answers)
    page = Step.YOU.value
    if answers.contact is not None or page in answers.unsent:
        return
    fields = {
        "name": [asking.name],
        "email": [asking.email],
        "phone": [asking.phone],
        "tell_by": [TellBy.EMAIL.value],
    }
    row.answers = write_answers(replace(answers, unsent={**answers.unsent, page: fields}))
