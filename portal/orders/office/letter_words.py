"""Letters as they were written, the failed ones, and the shop's own words in them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.letter_examples import example
from portal.notices.letters import TestLetter, write
from portal.notices.outbox import queue, try_again
from portal.notices.sender import sender_of
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.orders.office.documents import Change, put_document
from portal.shop.shop import LETTERS
from portal.shop.states import Channel, LetterKind
from portal.shop.verbs import AuditVerb
from portal.store.tables import Job, Letter

A_PAGE = 50


@dataclass(frozen=True, slots=True)
class LetterLine:
    """One letter in the list."""

    letter_id: int
    made_at: datetime
    to: str
    subject: str
    state: str
    tries: int
    channel: Channel
    code: str


@dataclass(frozen=True, slots=True)
class LetterView:
    """A whole letter."""

    line: LetterLine
    text: str
    calendar: str
    sent_at: datetime | None
    last_error: Message | None


@dataclass(frozen=True, slots=True)
class OwnWords:
    """The shop's own words in one kind of letter, and an example of the letter with them."""

    kind: LetterKind
    words: str
    example: str


@read_only
def letters(
    _unit: UnitOfWork, session: Session, *, state: str = "", before: int | None = None
) -> tuple[LetterLine, ...]:
    """Return a page of letters, the newest first, older than the number `before`."""
    wanted = _select().order_by(Letter.id.desc()).limit(A_PAGE)
    if state:
        wanted = wanted.where(Letter.state == state)
    if before is not None:
        wanted = wanted.where(Letter.id < before)
    return tuple(_line(row) for row in session.execute(wanted))


@read_only
def letter(_unit: UnitOfWork, session: Session, letter_id: int) -> LetterView:
    row = session.execute(_select().where(Letter.id == letter_id)).first()
    whole = session.get(Letter, letter_id)
    if row is None or whole is None:
        raise Unknown(Message("We can't find this letter."))
    return LetterView(_line(row), whole.text, whole.calendar, whole.sent_at, whole.last_error)


@transactional
def send_again(unit: UnitOfWork, session: Session, letter_id: int, *, who: int) -> None:
    """Put a failed letter back into the outbox; its Message-ID stays the same."""
    if not try_again(session, letter_id, unit.now()):
        raise Refused(Message("You can send a letter again only after sending it has failed."))
    record(session, unit.now(), who, AuditVerb.SEND_AGAIN, Message("letter {n}", n=letter_id))


@transactional
def send_test_letter(
    unit: UnitOfWork, session: Session, to: str, *, language: str, who: int
) -> None:
    """Queue a letter to see whether letters arrive."""
    at = unit.now()
    sender = sender_of(unit.shop(session), language)
    letter = TestLetter(sender=sender, locale=language, link=f"{unit.base_url}/")
    queue(
        session,
        letter,
        job_id=None,
        cause=f"test:{at.timestamp():.0f}",
        to=to,
        at=at,
        random_bytes=unit.random_bytes,
    )
    record(session, at, who, AuditVerb.TEST_LETTER)


def letter_words(unit: UnitOfWork) -> tuple[OwnWords, ...]:
    """Return the shop's own words in each kind of letter, with an example of the whole."""
    with unit.read() as session:
        shop = unit.shop(session)
    return tuple(
        OwnWords(
            kind=kind,
            words=shop.letter_words.get(kind.value, ""),
            example=write(example(kind, sender_of(shop), shop.currency, unit.now())).text,
        )
        for kind in LetterKind
    )


def put_letter_words(
    unit: UnitOfWork, words: Mapping[str, str], *, expected_edition_id: int, who: int
) -> tuple[Change, ...]:
    """Save the shop's own words; raise as `put_document` does."""
    body = {key: text.strip() for key, text in words.items() if text.strip()}
    return put_document(unit, LETTERS, body, expected_edition_id=expected_edition_id, who=who)


def _select() -> sa.Select[int, datetime, str, str, str, int, Channel, str]:
    return sa.select(
        Letter.id,
        Letter.made_at,
        Letter.to,
        Letter.subject,
        Letter.state,
        Letter.tries,
        Letter.channel,
        Job.code,
    ).outerjoin(Job, Job.id == Letter.job_id)


def _line(row: sa.Row[int, datetime, str, str, str, int, Channel, str]) -> LetterLine:
    letter_id, made_at, to, subject, state, tries, channel, code = row
    return LetterLine(letter_id, made_at, to, subject, state, tries, channel, code or "")
