"""A hand-back that was a mistake is taken back whole: parts, tags, and the payment made with it.

Whoever made it can do so for a quarter of an hour, the office also later. Nothing is deleted: the
payment is put right by a counter-entry, the rest by events.
"""

from contextlib import suppress
from datetime import timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.outbox import take_back_unsent
from portal.orders.counter.check_in import put_tag
from portal.orders.kernel.errors import Already, Refused
from portal.orders.kernel.issuing import HANDED_BACK_WRONGLY, follow_account
from portal.orders.kernel.job_lock import lock_job, not_now, parts_of
from portal.orders.kernel.posting import post_reversal
from portal.orders.kernel.transitions import move_job, return_to_shelf
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import LetterKind
from portal.shop.verbs import EventVerb
from portal.store.jobs import Job, Part, Tag
from portal.store.moves import Move

OWN_FOR = timedelta(minutes=15)
LONGEST_REASON = 300


@read_only
def may_undo(
    unit: UnitOfWork, session: Session, job_id: int, *, who: int | None, office: bool
) -> bool:
    """Return whether this person may take back the last hand-back of a job now."""
    last = _last(session, job_id)
    state = session.scalar(sa.select(Job.state).where(Job.id == job_id))
    return state is JobState.HANDED_BACK and last is not None and _may(unit, last, who, office)


@transactional
def undo_hand_back(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    reason: str,
    *,
    who: int | None,
    office: bool,
) -> tuple[str, ...]:
    """Put a job back on the shelf; return the tags that are on other parts by now."""
    text = " ".join(reason.split())[:LONGEST_REASON]
    job = lock_job(session, job_id)
    last = _last(session, job_id)
    if job.state is not JobState.HANDED_BACK or last is None:
        raise Refused(not_now(job.state))
    if not text:
        raise Refused(Message("Enter the reason."), key="reason")
    if not _may(unit, last, who, office):
        raise Refused(
            Message(
                "Only the person who handed it back can take that back, within 15 minutes. "
                "Later the office can."
            )
        )
    verb = EventVerb.HAND_BACK_UNDONE
    move_job(session, job_id, verb, at=unit.now(), who=who, note=text)
    if last.data.get("payment"):
        # somebody may have put the payment right already
        with suppress(Already):
            post_reversal(unit, session, job, int(last.data["payment"]), text, who=who)
    session.refresh(job)
    follow_account(unit, session, job, reason=HANDED_BACK_WRONGLY, who=who)
    gone = _tags_back(unit, session, job, last.data.get("tags", {}), who=who)
    session.refresh(job)
    job.shelf, job.collector = str(last.data.get("shelf", "")), ""
    take_back_unsent(session, job_id=job_id, kind=LetterKind.HANDED_BACK, but="")
    return gone


def _tags_back(
    unit: UnitOfWork, session: Session, job: Job, tags: dict[str, str], *, who: int | None
) -> tuple[str, ...]:
    """Put parts back on the shelf with the tags that they had; return those that are taken."""
    taken: list[str] = []
    for part in parts_of(session, job.id):
        if part.stage is PartStage.GONE:
            return_to_shelf(session, part, at=unit.now(), who=who)
        tag = tags.get(str(part.number))
        if tag is None:
            continue
        worn = session.scalar(sa.select(Part.id).where(Part.tag == tag))
        row = session.get(Tag, tag)
        if worn is not None or row is None or row.retired:
            taken.append(tag)
            continue
        put_tag(session, job, part, tag, unit=unit, who=who)
    return tuple(taken)


def _last(session: Session, job_id: int) -> Move | None:
    query = sa.select(Move).where(Move.job_id == job_id, Move.verb == EventVerb.HAND_BACK)
    return session.scalars(query.order_by(Move.id.desc()).limit(1)).first()


def _may(unit: UnitOfWork, last: Move, who: int | None, office: bool) -> bool:  # noqa: FBT001
    own = last.person_id == who and unit.now() - last.at <= OWN_FOR
    return office or own
