"""What a customer writes to the works by the link: a question, or that something is wrong.

A stranger may have found the link, so number and size are limited for each link and day, and how
often one place may write.
"""

import hashlib
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import BinaryIO

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message, Phone
from portal.orders.access.rate_limit import count_a_try
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.photos import Belongs, Picture, put_photo, read_picture
from portal.orders.kernel.threads import Talk, talks_of, write_by_customer
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.moves import JobState
from portal.shop.states import PhotoPurpose, ThreadKind
from portal.store.tables import Job, Photo, Question, Thread, ThreadEntry

LONGEST = 2000
A_DAY = timedelta(days=1)
MOST_A_DAY, MOST = 6, 60  # entries by the customer of one job


@dataclass(frozen=True, slots=True)
class Written:
    """What the customer sends; `photo` is the token of a photo that was kept for it."""

    text: str
    photo: str = ""


@read_only
def talk_behind(
    unit: UnitOfWork, session: Session, token: str, kind: ThreadKind
) -> tuple[Talk | None, bool]:
    """Return the thread behind a link, None before the first entry, and whether answers are mailed.

    Raise Unknown for an invalid or expired link.
    """
    job: Job = behind(session, token, unit.now(), Job)[0]
    found = next((one for one in talks_of(session, job.id) if one.kind is kind), None)
    return found, bool(job.customer.email)


def keep_photo(unit: UnitOfWork, token: str, stream: BinaryIO, *, limit_mb: int) -> str:
    """Save the photo of what is being written and return its token; a second one replaces it.

    Raise Refused with key `photo`, or Unknown.
    """
    _may_send(unit, token)
    return _put_photo(unit, token, read_picture(stream, limit_mb=limit_mb))


@read_only
def _may_send(unit: UnitOfWork, session: Session, token: str) -> None:
    job: Job = behind(session, token, unit.now(), Job)[0]
    _must_not_be_many(unit, session, job.id)


@transactional
def _put_photo(unit: UnitOfWork, session: Session, token: str, picture: Picture) -> str:
    job: Job = behind(session, token, unit.now(), Job)[0]
    _drop_unsent(session, job.id, but=None)
    return put_photo(unit, session, picture, Belongs(PhotoPurpose.QUESTION, job_id=job.id)).token


@transactional
def drop_photo(unit: UnitOfWork, session: Session, token: str) -> None:
    """Delete the photo of what is being written."""
    job: Job = behind(session, token, unit.now(), Job)[0]
    _drop_unsent(session, job.id, but=None)


@transactional
def write_by_link(
    unit: UnitOfWork,
    session: Session,
    token: str,
    kind: ThreadKind,
    written: Written,
    *,
    once_token: str,
    address: str,
) -> None:
    """Send what the customer wrote.

    Raise Refused (with the `key` of a field, or where too much was sent), RateLimited or Unknown.
    Pressing twice is once.
    """
    written = replace(written, text=written.text.strip())
    if not written.text:
        raise Refused(Message("Write what it is about."), key="text")
    if len(written.text) > LONGEST:
        raise Refused(Message("Use at most {n} characters.", n=LONGEST), key="text")
    job = lock_job(session, behind(session, token, unit.now(), Job)[0].id)
    if kind is ThreadKind.CASE and job.state is not JobState.HANDED_BACK:
        raise Refused(Message("You can report this once you have collected your parts."))
    _write(unit, session, job, kind, written, place=_place(address), once_token=once_token)


@idempotent("write_by_link")
def _write(  # what was written and where it came from, all named
    unit: UnitOfWork,
    session: Session,
    job: Job,
    kind: ThreadKind,
    written: Written,
    *,
    place: str,
    once_token: str,  # taken by the decorator
) -> None:
    _must_not_be_many(unit, session, job.id)
    count_a_try(session, [place], unit.now())
    unsent = sa.select(Photo.id).where(Photo.token == written.photo.upper(), _unsent(job.id))
    photo_id = session.scalar(unsent) if written.photo else None
    write_by_customer(session, job, kind, said=written.text, photo_id=photo_id, at=unit.now())
    session.flush()
    _drop_unsent(session, job.id, but=photo_id)


def _must_not_be_many(unit: UnitOfWork, session: Session, job_id: int) -> None:
    in_all, today = _count(session, job_id, unit.now())
    phone = Phone(unit.shop(session).phone)
    if today >= MOST_A_DAY:
        raise Refused(
            Message(
                "You have written {n} times today. Wait for our answer, or call us: {phone}",
                n=today,
                phone=phone,
            )
        )
    if in_all >= MOST:
        raise Refused(
            Message(
                "We have {n} messages about this order. Call us instead: {phone}",
                n=in_all,
                phone=phone,
            )
        )


def _count(session: Session, job_id: int, now: datetime) -> tuple[int, int]:
    today = sa.func.count(sa.case((ThreadEntry.at > now - A_DAY, 1)))
    query = (
        sa.select(sa.func.count(), today)
        .join(Thread, Thread.id == ThreadEntry.thread_id)
        .where(Thread.job_id == job_id, ~ThreadEntry.ours)
    )
    in_all, of_day = session.execute(query).one()
    return in_all, of_day


def _unsent(job_id: int) -> sa.ColumnElement[bool]:
    """Say which photos of a job were chosen for something that is not sent yet."""
    used = [sa.exists().where(one.photo_id == Photo.id) for one in (ThreadEntry, Question)]
    return sa.and_(
        Photo.job_id == job_id,
        Photo.purpose == PhotoPurpose.QUESTION,
        ~sa.or_(*used),
    )


def _drop_unsent(session: Session, job_id: int, *, but: int | None) -> None:
    session.execute(
        sa.delete(Photo)
        .where(_unsent(job_id), Photo.id != (but or 0))
        .execution_options(synchronize_session=False)
    )


def _place(address: str) -> str:
    return f"ask:{hashlib.sha256(address.encode()).hexdigest()[:32]}"
