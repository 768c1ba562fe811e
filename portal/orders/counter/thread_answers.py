"""Answers to what a customer wrote by the link: on the page behind it, and by letter."""

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.letters import Answered
from portal.orders.kernel.answers import read_answer
from portal.orders.kernel.errors import Already, Overtaken, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import lock_job, record_event
from portal.orders.kernel.notifications import common_of, queue_about
from portal.orders.kernel.threads import cause_of, told_by_phone
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.states import ThreadKind
from portal.shop.verbs import EventVerb
from portal.store.tables import Job, Thread, ThreadEntry


@transactional
@idempotent("answer_thread")
def answer(
    unit: UnitOfWork,
    session: Session,
    thread_id: int,
    words: str,
    *,
    last_entry_id: int,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> None:
    """Answer in words; `last_entry_id` is the newest entry that was read.

    Raise Refused with key `answer`, Overtaken when more was written meanwhile, or Unknown.
    """
    said = read_answer(words)
    thread, job = _held(session, thread_id, last_entry_id)
    asked = _last_asked(session, thread_id)
    entry = ThreadEntry(thread_id=thread_id, ours=True, said=said, at=unit.now(), person_id=who)
    session.add(entry)
    thread.waits_since = None
    session.flush()
    record_event(session, job, EventVerb.ANSWER, at=unit.now(), who=who)
    letter = Answered(
        **common_of(unit, job, unit.shop(session)),
        asked=asked,
        answer=said,
        case=thread.kind is ThreadKind.CASE,
    )
    queue_about(unit, session, job, letter, cause_of(thread_id, entry.id))


@transactional
def close(
    unit: UnitOfWork, session: Session, thread_id: int, *, last_entry_id: int, who: int | None
) -> None:
    """Let nobody wait any more, without a letter: it was said by phone, or needs no answer.

    A case is settled with it. Raise Already, Overtaken or Unknown.
    """
    thread, job = _held(session, thread_id, last_entry_id)
    told_by_phone(session, thread)
    settles = thread.kind is ThreadKind.CASE and thread.closed_at is None
    if thread.waits_since is not None and not settles:
        record_event(session, job, EventVerb.ANSWER, at=unit.now(), who=who)
    if settles:
        thread.closed_at = unit.now()
        record_event(session, job, EventVerb.CASE_CLOSED, at=unit.now(), who=who)
    thread.waits_since = None


def _held(session: Session, thread_id: int, last_entry_id: int) -> tuple[Thread, Job]:
    """Return a thread and its job, locked; Overtaken when entries came after `last_entry_id`."""
    job_id = session.scalar(sa.select(Thread.job_id).where(Thread.id == thread_id))
    if job_id is None:
        raise Unknown(Message("We can't find this question."))
    job = lock_job(session, job_id)
    thread = session.get_one(Thread, thread_id, populate_existing=True)
    newest = sa.select(ThreadEntry.ours).where(
        ThreadEntry.thread_id == thread_id, ThreadEntry.id > last_entry_id
    )
    ours = session.scalar(newest.order_by(ThreadEntry.id.desc()).limit(1))
    if ours:
        raise Already(Message("A colleague has already answered this question."))
    if ours is not None:
        raise Overtaken(
            Message("The customer wrote again in the meantime. Read it, then send your answer.")
        )
    return thread, job


def _last_asked(session: Session, thread_id: int) -> str:
    query = sa.select(ThreadEntry.said).where(ThreadEntry.thread_id == thread_id, ~ThreadEntry.ours)
    return session.scalar(query.order_by(ThreadEntry.id.desc()).limit(1)) or ""
