"""The outbox: a letter is a row in the caller's transaction, and is sent after the commit.

A worker claims a letter by compare-and-set, sends it, and settles it. A worker that dies in between
leaves a claim that expires: a letter may then be sent twice, with the same Message-ID so that mail
programs show it once, but none is ever lost.
"""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime, timedelta
from email.message import EmailMessage
from email.utils import format_datetime
from typing import Any, Protocol, TypeVar

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.brief import brief
from portal.notices.letters import AnyLetter, write
from portal.notices.transport import LONGEST_WHY, Unsent, Wire
from portal.shop.codes import RandomBytes, new_token
from portal.shop.states import Channel, LetterKind, LetterState
from portal.store.letters import Letter

T = TypeVar("T")

# a claim older than this belongs to a worker that is gone; far longer than a server may take
STALE = timedelta(minutes=10)
# how long to wait after each failure; after the last one the letter is given up, visibly
WAITS = tuple(timedelta(minutes=m) for m in (1, 5, 15, 60, 180, 480, 1440))
MOST_TRIES = len(WAITS) + 1
# a mail server that is down is asked again after a tenth of the letter's age, within these
SOONEST, LATEST = timedelta(minutes=1), timedelta(minutes=10)
BATCH = 50


class UnitOfWorkLike(Protocol):
    """What delivering needs: the time, and transactions that are retried whole."""

    now: Callable[[], datetime]

    def write(self, work: Callable[[Session], T]) -> T:
        """Run `work` in one transaction."""

    def read(self) -> AbstractContextManager[Session]:
        """Yield a session for looking."""


@dataclass(frozen=True, slots=True)
class Delivered:
    """The result of one round: letters sent, postponed, given up for good.

    `down` is why no letter leaves at all, None where the mail server answers.
    """

    sent: int = 0
    later: int = 0
    given_up: int = 0
    down: Message | None = None


@dataclass(frozen=True, slots=True)
class Sending:
    """How a letter leaves: its channel, not before when, where its kind is switched off.

    `state` where it is not to be sent.
    """

    channel: Channel = Channel.EMAIL
    not_before: datetime | None = None
    unsubscribe: str = ""
    state: LetterState | None = None


def queue(  # noqa: PLR0913  # what a letter and its way are, all named
    session: Session,
    letter: AnyLetter,
    *,
    job_id: int | None,
    cause: str,
    to: str,
    at: datetime,
    random_bytes: RandomBytes,
    way: Sending | None = None,
) -> bool:
    """Write a letter and put it into the outbox of the caller's transaction.

    Without an address in `to` it is kept and never sent: somebody tells what it says; one that is
    switched off is kept too. Queueing the same kind for the same job, cause and channel again is
    quiet and changes nothing; the answer tells whether the letter is new.
    """
    kind = letter.kind
    way = way or Sending()
    again = sa.select(Letter.id).where(
        Letter.job_id.is_(None) if job_id is None else Letter.job_id == job_id,
        Letter.kind == kind,
        Letter.cause == cause,
        Letter.channel == way.channel,
    )
    if session.execute(again).first() is not None:
        return False
    written = brief(letter) if way.channel is Channel.PUSH else write(letter)
    domain = letter.sender.email.rpartition("@")[2] or "localhost"
    session.add(
        Letter(
            job_id=job_id,
            kind=kind,
            cause=cause,
            to=to,
            subject=written.subject,
            text=written.text,
            html=written.html,
            calendar=written.calendar,
            message_id=f"<{new_token(random_bytes).lower()}@{domain}>",
            unsubscribe=way.unsubscribe,
            state=way.state or (LetterState.QUEUED if to else LetterState.NO_ADDRESS),
            channel=way.channel,
            tries=0,
            next_at=way.not_before or at,
            made_at=at,
        )
    )
    session.flush()
    return True


def take_back_unsent(session: Session, *, job_id: int, kind: LetterKind, but: str) -> None:
    """Keep letters of a kind back that nobody has begun to send; a later one says it all.

    The one of the cause `but` stays.
    """
    session.execute(
        sa.update(Letter)
        .where(
            Letter.job_id == job_id,
            Letter.kind == kind,
            Letter.cause != but,
            Letter.state == LetterState.QUEUED,
            Letter.tries == 0,
        )
        .values(state=LetterState.TAKEN_BACK)
    )


def withdraw(session: Session, *, job_id: int) -> None:
    """Keep back every letter about a job that nobody has begun to send."""
    session.execute(
        sa.update(Letter)
        .where(Letter.job_id == job_id, Letter.state == LetterState.QUEUED)
        .values(state=LetterState.TAKEN_BACK)
    )


def deliver_due(
    unit: UnitOfWorkLike, wire: Wire, *, mail_from: str, most: int = BATCH
) -> Delivered:
    """Send the letters that are due, oldest first, each in transactions of its own."""
    return deliver_by(unit, Channel.EMAIL, wire.open, _mailing(wire, mail_from), most=most)


def deliver_by(
    unit: UnitOfWorkLike,
    channel: Channel,
    is_open: bool,  # noqa: FBT001  # the wire's own answer
    send: Callable[["Claimed"], None],
    *,
    most: int = BATCH,
) -> Delivered:
    """Send what is due in one channel by `send`, which raises Unsent."""
    if not is_open:
        return Delivered()
    unit.write(lambda session: _give_back_stale(session, unit.now()))
    with unit.read() as session:
        ids = _due(session, channel, unit.now(), most)
    outcomes: list[str] = []
    down: Message | None = None
    for letter_id in ids:
        outcome, down = _deliver_one(unit, send, letter_id)
        outcomes.append(outcome)
        if down:
            break  # the others would wait for the same time-out, one by one
    return Delivered(
        sent=outcomes.count(LetterState.SENT),
        later=outcomes.count(LetterState.QUEUED),
        given_up=outcomes.count(LetterState.GIVEN_UP),
        down=down,
    )


def try_again(session: Session, letter_id: int, at: datetime) -> bool:
    """Put a failed letter back into the queue, as the office asked."""
    values = {"state": LetterState.QUEUED, "tries": 0, "next_at": at, "last_error": None}
    return _changed(session, letter_id, LetterState.GIVEN_UP, values)


def _mailing(wire: Wire, mail_from: str) -> Callable[["Claimed"], None]:
    return lambda claimed: wire.send(_sound_message(claimed, mail_from))


def _due(session: Session, channel: Channel, now: datetime, most: int) -> list[int]:
    waiting = sa.select(Letter.id).where(
        Letter.state == LetterState.QUEUED, Letter.next_at <= now, Letter.channel == channel
    )
    return list(session.scalars(waiting.order_by(Letter.next_at, Letter.id).limit(most)))


def _deliver_one(
    unit: UnitOfWorkLike, send: Callable[["Claimed"], None], letter_id: int
) -> tuple[str, Message | None]:
    """Claim, send and settle one letter.

    Return its new state ("" where another worker was faster), and why the transport is down (None).
    """
    claimed = unit.write(lambda session: _claim(session, letter_id, unit.now()))
    if claimed is None:
        return ("", None)
    try:
        send(claimed)
    except Unsent as wrong:
        reason = wrong  # the name of an except clause is gone when its block ends
        return (
            unit.write(lambda session: _put_off(session, claimed, unit.now(), reason)),
            wrong.why if wrong.down else None,
        )
    sent = {"state": LetterState.SENT, "sent_at": unit.now(), "last_error": None}
    unit.write(lambda session: _changed(session, claimed.id, LetterState.SENDING, sent))
    return (LetterState.SENT, None)


def _sound_message(claimed: "Claimed", mail_from: str) -> EmailMessage:
    try:
        return message_of(claimed, mail_from)
    except (ValueError, LookupError) as wrong:
        # an address that no header can hold must not stop the letters behind it
        why = Message("This letter can't be made ({why}).", why=str(wrong)[:LONGEST_WHY])
        raise Unsent(why, forever=True) from None


@dataclass(frozen=True, slots=True)
class Claimed:
    """A letter claimed by one worker."""

    id: int
    to: str
    subject: str
    text: str
    html: str
    calendar: str
    message_id: str
    made_at: datetime
    tries: int
    unsubscribe: str
    job_id: int | None


def _claim(session: Session, letter_id: int, now: datetime) -> Claimed | None:
    """Claim a letter, if nobody else has; count the try before it is made."""
    values = {"state": LetterState.SENDING, "claimed_at": now, "tries": Letter.tries + 1}
    if not _changed(session, letter_id, LetterState.QUEUED, values):
        return None
    row = session.execute(
        sa.select(
            Letter.id,
            Letter.to,
            Letter.subject,
            Letter.text,
            Letter.html,
            Letter.calendar,
            Letter.message_id,
            Letter.made_at,
            Letter.tries,
            Letter.unsubscribe,
            Letter.job_id,
        ).where(Letter.id == letter_id)
    ).one()
    columns: tuple[Any, ...] = tuple(row)
    return Claimed(*columns)


def _put_off(session: Session, claimed: Claimed, now: datetime, wrong: Unsent) -> str:
    """Postpone a letter to its next try, or give it up where that can't help or was too often.

    A server that is down is not the letter's failure: the try is not counted.
    """
    error: dict[str, Any] = {"last_error": wrong.why}
    if wrong.down:
        pause = min(max((now - claimed.made_at) / 10, SOONEST), LATEST)
        asked_again = {
            "state": LetterState.QUEUED,
            "next_at": now + pause,
            "tries": claimed.tries - 1,
        }
        _changed(session, claimed.id, LetterState.SENDING, asked_again | error)
        return LetterState.QUEUED
    if wrong.forever or claimed.tries >= MOST_TRIES:
        _changed(session, claimed.id, LetterState.SENDING, error | {"state": LetterState.GIVEN_UP})
        return LetterState.GIVEN_UP
    later: dict[str, Any] = {"state": LetterState.QUEUED, "next_at": now + WAITS[claimed.tries - 1]}
    _changed(session, claimed.id, LetterState.SENDING, later | error)
    return LetterState.QUEUED


def _give_back_stale(session: Session, now: datetime) -> None:
    """Release the claims of dead workers; a letter that kills workers is given up."""
    stale = sa.and_(Letter.state == LetterState.SENDING, Letter.claimed_at < now - STALE)
    worn = sa.update(Letter).where(stale, Letter.tries >= MOST_TRIES)
    session.execute(worn.values(state=LetterState.GIVEN_UP, last_error=None))
    session.execute(sa.update(Letter).where(stale).values(state=LetterState.QUEUED, next_at=now))


def _changed(session: Session, letter_id: int, was: LetterState, values: dict[str, Any]) -> bool:
    """Change a letter if it is still in the state it was seen in."""
    change = sa.update(Letter).where(Letter.id == letter_id, Letter.state == was).values(**values)
    result = session.execute(change)
    return bool(result.rowcount == 1)  # type: ignore[attr-defined]  # an update's result has it


def message_of(letter: Claimed, mail_from: str) -> EmailMessage:
    """Return the message: text, HTML, and the calendar file where there is one."""
    message = EmailMessage()
    message["From"] = mail_from
    message["To"] = letter.to
    message["Subject"] = letter.subject
    message["Date"] = format_datetime(letter.made_at)
    message["Message-ID"] = letter.message_id
    # RFC 3834: so that no holiday answer comes back
    message["Auto-Submitted"] = "auto-generated"
    if letter.unsubscribe:
        # RFC 8058: one press in the mail program switches this kind off
        message["List-Unsubscribe"] = f"<{letter.unsubscribe}>"
        message["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    message.set_content(letter.text)
    message.add_alternative(letter.html, subtype="html")
    if letter.calendar:
        message.add_attachment(
            letter.calendar.encode(),
            maintype="text",
            subtype="calendar",
            filename="appointments.ics",
            # RFC 6047 2.4: it repeats the method of the file
            params={"method": _method_of(letter.calendar), "charset": "utf-8"},
        )
    return message


def _method_of(calendar: str) -> str:
    return "CANCEL" if "\nMETHOD:CANCEL" in calendar else "PUBLISH"
