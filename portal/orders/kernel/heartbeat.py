"""The mail worker's sign of life, and how its letters stand: read by pages, `/readyz`, metrics."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.states import Channel, LetterState
from portal.store.tables import Heartbeat, Letter

MAIL_WORKER, SAVING = "mail", "saving"
TRY_EVERY = timedelta(seconds=5)
# a round may forecast a large floor; longer than this, and nobody is at work
SILENT_AFTER = timedelta(minutes=3)


@dataclass(frozen=True, slots=True)
class MailWorkerView:
    """When the worker was last alive (None: never), and how the letters stand.

    `trouble` is why no letter leaves, None where nothing is known to be wrong.
    """

    seen_at: datetime | None
    silent: bool
    trouble: Message | None
    waiting: int
    oldest_at: datetime | None
    given_up: int


@transactional
def beat(unit: UnitOfWork, session: Session, *, trouble: Message | None) -> None:
    """Record that the mail worker is alive."""
    row = session.get(Heartbeat, MAIL_WORKER)
    if row is None:
        row = Heartbeat(name=MAIL_WORKER)
        session.add(row)
    row.at, row.trouble = unit.now(), trouble


def can_save(unit: UnitOfWork) -> None:
    """Write a row, at most every few seconds; raise Busy or Unavailable where it can't be."""
    with unit.read() as session:
        row = session.get(Heartbeat, SAVING)
    if row is None or row.at < unit.now() - TRY_EVERY:
        _save(unit)


@transactional
def _save(unit: UnitOfWork, session: Session) -> None:
    session.merge(Heartbeat(name=SAVING, at=unit.now(), trouble=None))


@read_only
def mail_worker(unit: UnitOfWork, session: Session) -> MailWorkerView:
    """Return how the mail worker does."""
    row = session.get(Heartbeat, MAIL_WORKER)
    mail = Letter.channel == Channel.EMAIL
    waits = sa.and_(mail, Letter.state.in_((LetterState.QUEUED, LetterState.SENDING)))
    waiting, oldest_at = session.execute(
        sa.select(sa.func.count(), sa.func.min(Letter.made_at)).where(waits)
    ).one()
    given_up = sa.select(sa.func.count()).where(mail, Letter.state == LetterState.GIVEN_UP)
    return MailWorkerView(
        seen_at=row.at if row else None,
        silent=row is None or row.at < unit.now() - SILENT_AFTER,
        trouble=row.trouble if row else None,
        waiting=waiting,
        oldest_at=oldest_at,
        given_up=session.scalar(given_up) or 0,
    )
