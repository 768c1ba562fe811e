"""A customer's draft: begun, saved page by page, resumed by a link, deleted after a week."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import BinaryIO

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.letters import ResumeLink
from portal.notices.outbox import queue
from portal.notices.sender import sender_of
from portal.orders.intake import ended_drafts
from portal.orders.intake.draft_answers import Answers, read_answers, write_answers
from portal.orders.intake.strangers import count_letter, letter_keys
from portal.orders.kernel.errors import Overtaken, Refused, Unknown
from portal.orders.kernel.photos import Belongs, Picture, put_photo, read_picture
from portal.orders.kernel.retention_times import DRAFT_LIVES
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop import codes
from portal.shop.states import PhotoPurpose
from portal.store.tables import Draft, Photo

# a few are enough to resume; more would let a stranger's box be filled
RESUME_LETTERS = 5
MOST_PHOTOS = 6
# what is kept of a page that was not sent: far more than any page of ours holds
MOST_FIELDS, MOST_VALUES, LONGEST_NAME, LONGEST_VALUE = 200, 30, 40, 600

Change = Callable[[Answers], Answers]


@transactional
def begin(unit: UnitOfWork, session: Session, *, locale: str = "en") -> str:
    """Create an empty draft and return the token of its link."""
    return put_draft(unit, session, Answers(), locale)


def put_draft(unit: UnitOfWork, session: Session, answers: Answers, locale: str) -> str:
    """Add a draft that has these answers already, and return the token of its link."""
    now = unit.now()
    token = codes.new_token(unit.random_bytes)
    session.add(
        Draft(
            token=token,
            answers=write_answers(answers) if answers.declared.sets else {},
            locale=locale,
            created_at=now,
            updated_at=now,
            expires_at=now + DRAFT_LIVES,
        )
    )
    return token


# built once: building a statement costs more than running it
_DRAFT = sa.select(Draft).where(Draft.token == sa.bindparam("token"))


def draft_row(session: Session, token: str, now: datetime) -> Draft:
    """Return the draft behind a link; raise Unknown, or Ended where its time is over."""
    # a text that can't be a token is not asked for: a database may refuse its very characters
    if len(token) != codes.TOKEN_LENGTH or not set(token.upper()) <= set(codes.BASE32):
        raise Unknown(ended_drafts.UNKNOWN)
    row = session.scalar(_DRAFT, {"token": token.upper()})
    if row is None:
        raise ended_drafts.refuse(session, token)
    if row.expires_at <= now:
        raise ended_drafts.ended(row.expires_at, booked=row.job_id is not None)
    return row


@transactional
def save(
    unit: UnitOfWork, session: Session, token: str, place: str, version: int, change: Change
) -> int:
    """Apply `change` to the draft's answers and return the new version.

    `place` names what is being answered (a page, or one set on it) and `version` is the one that
    the page was drawn with. A place that was answered otherwise meanwhile, in another tab, raises
    Overtaken, so that nothing is undone unseen; changes elsewhere don't matter. The same answer
    given twice, by a double click, is one save.
    """
    now = unit.now()
    row = draft_row(session, token, now)
    _still_open(row)
    answers = read_answers(row.answers)
    changed = change(answers)
    known = place in answers.saved and place not in answers.unsent
    if known and changed == answers:
        return row.version
    if answers.saved.get(place, 0) > version:
        raise Overtaken(
            Message(
                "You changed this page in another window. Your answers from this window "
                "are below: press the button again to keep them."
            )
        )
    row.version += 1
    unsent = {p: fields for p, fields in changed.unsent.items() if p != place}
    saved = {**changed.saved, place: row.version}
    changed = replace(changed, saved=saved, unsent=unsent)
    _write(row, changed, now)
    return row.version


@transactional
def keep_unsent(
    unit: UnitOfWork,
    session: Session,
    token: str,
    place: str,
    version: int,
    fields: Mapping[str, list[str]],
) -> None:
    """Save what is on an unsent page; nothing is checked or counted as answered.

    A page with an older `version` than its place was saved with comes too late: on a slow line a
    choice can arrive after the page itself was sent.
    """
    now = unit.now()
    standing = {
        name[:LONGEST_NAME]: [value[:LONGEST_VALUE] for value in values[:MOST_VALUES]]
        for name, values in list(fields.items())[:MOST_FIELDS]
    }

    row = draft_row(session, token, now)
    answers = read_answers(row.answers)
    late = answers.saved.get(place, 0) > version
    if row.job_id is None and not late and answers.unsent.get(place) != standing:
        row.answers = write_answers(replace(answers, unsent={**answers.unsent, place: standing}))


@transactional
def remove_set(unit: UnitOfWork, session: Session, token: str, key: str) -> None:
    """Remove one set from the order; the others stay as they are."""
    now = unit.now()
    row = draft_row(session, token, now)
    _still_open(row)
    answers = read_answers(row.answers)
    others = tuple(s for s in answers.declared.sets if s.key != key)
    saved = {p: v for p, v in answers.saved.items() if not p.endswith(f":{key}")}
    unsent = {p: f for p, f in answers.unsent.items() if p != f"set:{key}"}
    declared = replace(answers.declared, sets=others)
    row.version += 1
    _write(row, replace(answers, declared=declared, saved=saved, unsent=unsent), now)
    session.execute(sa.delete(Photo).where(Photo.draft_id == row.id, Photo.set_key == key))


def add_photo(unit: UnitOfWork, token: str, key: str, stream: BinaryIO, *, limit_mb: int) -> str:
    """Save a photo of one set, at most a few of each; raise Refused where it is no photo."""
    return _put_photo(unit, token, key, read_picture(stream, limit_mb=limit_mb))


@transactional
def _put_photo(unit: UnitOfWork, session: Session, token: str, key: str, picture: Picture) -> str:
    row = draft_row(session, token, unit.now())
    _still_open(row)
    of_set = sa.and_(Photo.draft_id == row.id, Photo.set_key == key)
    if (session.scalar(sa.select(sa.func.count()).where(of_set)) or 0) >= MOST_PHOTOS:
        raise Refused(
            Message("You can add up to {n} photos to a set. Remove one first.", n=MOST_PHOTOS),
            key="photo",
        )
    belongs = Belongs(PhotoPurpose.DECLARED, draft_id=row.id, set_key=key)
    return put_photo(unit, session, picture, belongs).token


@transactional
def remove_photo(unit: UnitOfWork, session: Session, token: str, photo: str) -> None:
    now = unit.now()
    row = draft_row(session, token, now)
    session.execute(
        sa.delete(Photo).where(
            Photo.draft_id == row.id, Photo.token == photo, Photo.purpose == PhotoPurpose.DECLARED
        )
    )


@transactional
def send_resume_link(
    unit: UnitOfWork, session: Session, token: str, email: str, *, address: str = ""
) -> None:
    """Queue a letter with the link that resumes this draft on any device.

    `address` is where the request comes from. Raise Refused where too many letters were sent.
    """
    now = unit.now()
    row = draft_row(session, token, now)
    answers = read_answers(row.answers)
    asked = answers.saved.get("letters", 0)
    if asked >= RESUME_LETTERS:
        raise Refused(
            Message(
                "We have already sent this link {count} times. Check your inbox and your "
                "spam folder.",
                count=asked,
            )
        )
    count_letter(session, letter_keys(email, address), now)
    row.answers = write_answers(replace(answers, saved={**answers.saved, "letters": asked + 1}))
    letter = ResumeLink(
        sender=sender_of(unit.shop(session), row.locale),
        link=f"{unit.base_url}/r/{row.token}",
        until=row.expires_at,
        locale=row.locale,
    )
    queue(
        session,
        letter,
        job_id=None,
        cause=resume_causes(row.id)[asked],
        to=email,
        at=now,
        random_bytes=unit.random_bytes,
    )


def resume_causes(draft_id: int) -> list[str]:
    """Return what the letters with a draft's link name as their causes, in their order."""
    return [f"draft:{draft_id}:{n}" for n in range(1, RESUME_LETTERS + 1)]


def _write(row: Draft, answers: Answers, now: datetime) -> None:
    row.answers = write_answers(answers)
    row.updated_at = now
    # a question keeps a draft longer than a change of it does
    row.expires_at = max(row.expires_at, now + DRAFT_LIVES)


def _still_open(row: Draft) -> None:
    if row.job_id is not None:
        raise Refused(Message("This order is booked. To change it, call us or ask at the counter."))
