"""A closed day that opens again: who was told of it hears that their drop-off stands after all."""

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.notices.closed_letter import ClosedDay
from portal.orders.kernel.notifications import common_of, queue_about
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.states import LetterKind, LetterState
from portal.store.tables import Job, Letter

_CLOSED, _OPEN = "closed-", "open-"


def closed_cause(session: Session, job_id: int, *moments: datetime | None) -> str:
    """Return the cause of the letter about a closed day; another one once it was open again."""
    again = sa.select(sa.func.count(Letter.id)).where(
        _about(job_id),
        sa.or_(Letter.cause.startswith(_OPEN), Letter.state == LetterState.TAKEN_BACK),
    )
    times = session.scalar(again) or 0
    return _CLOSED + "-".join([*map(_stamp, filter(None, moments)), *([str(times)] * bool(times))])


def tell_open_again(unit: UnitOfWork, session: Session, job: Job) -> None:
    """Tell who was told that we are closed when they come; a letter that has not left is kept back.

    A letter that tells of a new date as well goes out all the same.
    """
    stamp = _stamp(job.dropoff_at)
    newest_last = (
        sa.select(Letter)
        .where(
            _about(job.id),
            Letter.cause.contains(stamp),
            Letter.state != LetterState.TAKEN_BACK,
        )
        .order_by(Letter.id)
    )
    letters = session.scalars(newest_last).all()
    if not letters or letters[-1].cause.startswith(_OPEN):
        return
    cause = letters[-1].cause
    own = [one for one in letters if one.cause == cause]
    alone = cause.partition("-")[2].partition("-")[0] == stamp and cause.count("T") == 1
    if alone and all(one.state is LetterState.QUEUED and not one.tries for one in own):
        for one in own:
            one.state = LetterState.TAKEN_BACK
        return
    common = common_of(unit, job, unit.shop(session))
    letter = ClosedDay(**common, dropoff_at=job.dropoff_at, open_again=True)
    queue_about(unit, session, job, letter, f"{_OPEN}{stamp}-{own[-1].id}")


def _about(job_id: int) -> sa.ColumnElement[bool]:
    return sa.and_(Letter.job_id == job_id, Letter.kind == LetterKind.CLOSED)


def _stamp(moment: datetime) -> str:
    return f"{moment:%Y%m%dT%H%M}"
