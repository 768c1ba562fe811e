"""What customers wrote by the link, as the counter sees it: who waits, and one thread whole."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.threads import Talk, talks_of, undelivered
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.codes import shown
from portal.shop.moves import JobState
from portal.shop.states import ThreadKind
from portal.store.tables import Customer, Job, Thread, ThreadEntry

LATELY_SHOWN = 20


@dataclass(frozen=True, slots=True)
class ThreadLine:
    """One thread in a list, with what the customer wrote last.

    It `waits` for an answer; `open` is a case that is not settled; `undelivered` when the letter
    with our answer could not be delivered.
    """

    thread_id: int
    kind: ThreadKind
    name: str
    code: str
    text: str
    at: datetime
    waits: bool
    open: bool
    undelivered: bool


@dataclass(frozen=True, slots=True)
class ThreadView:
    """One thread, whole, with who wrote it and how they can be reached."""

    line: ThreadLine
    talk: Talk
    shown_code: str
    summary: Message
    state: JobState
    email: str
    phone: str
    locale: str


_LAST = (
    sa.select(sa.func.max(ThreadEntry.id))
    .where(ThreadEntry.thread_id == Thread.id, ~ThreadEntry.ours)
    .correlate(Thread)
    .scalar_subquery()
)
_LINES = (
    sa.select(
        *(Thread.id, Thread.kind, Thread.waits_since, Thread.closed_at, Thread.job_id),
        *(Customer.name, Customer.email, Customer.phone, Customer.locale),
        *(Job.code, Job.summary, Job.state, ThreadEntry.said, ThreadEntry.at),
        undelivered().label("undelivered"),
    )
    .join(Job, Job.id == Thread.job_id)
    .join(Customer, Customer.id == Job.customer_id)
    .join(ThreadEntry, ThreadEntry.id == _LAST)
)


@read_only
def threads_to_answer(_unit: UnitOfWork, session: Session) -> tuple[ThreadLine, ...]:
    """Return the threads whose customers wait, the oldest first; cases until they are settled."""
    open_case = sa.and_(Thread.kind == ThreadKind.CASE, Thread.closed_at.is_(None))
    due = sa.or_(Thread.waits_since.is_not(None), open_case, undelivered())
    query = _LINES.where(due).order_by(Thread.waits_since.is_(None), ThreadEntry.at, Thread.id)
    return tuple(_line(row) for row in session.execute(query))


@read_only
def threads_lately(_unit: UnitOfWork, session: Session) -> tuple[ThreadLine, ...]:
    """Return the threads that wait for nothing, the newest first."""
    over = sa.or_(Thread.kind != ThreadKind.CASE, Thread.closed_at.is_not(None))
    query = _LINES.where(Thread.waits_since.is_(None), over, ~undelivered())
    rows = session.execute(query.order_by(ThreadEntry.id.desc()).limit(LATELY_SHOWN))
    return tuple(_line(row) for row in rows)


@read_only
def thread_view(_unit: UnitOfWork, session: Session, thread_id: int) -> ThreadView:
    """Return one thread; raise Unknown."""
    row = session.execute(_LINES.where(Thread.id == thread_id)).first()
    if row is None:
        raise Unknown(Message("We can't find this question."))
    talk = next(one for one in talks_of(session, row.job_id) if one.id == thread_id)
    return ThreadView(
        _line(row), talk, shown(row.code), row.summary, row.state, row.email, row.phone, row.locale
    )


def _line(row: Any) -> ThreadLine:
    return ThreadLine(
        thread_id=row.id,
        kind=row.kind,
        name=row.name,
        code=row.code,
        text=row.said,
        at=row.at,
        waits=row.waits_since is not None,
        open=row.kind is ThreadKind.CASE and row.closed_at is None,
        undelivered=bool(row.undelivered),
    )
