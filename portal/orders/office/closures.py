"""A closed day reaches those whom it hits: drop-offs and promises that fall on it.

The office sees them before it saves. Who was to bring parts is asked to choose another time; a
promise moves to an open hour; both are told by a letter.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from hashlib import blake2s
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.craft.messages import CraftError
from portal.notices.closed_letter import ClosedDay
from portal.orders.kernel.job_lock import lock_job, record_event
from portal.orders.kernel.notifications import common_of, queue_about
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.orders.office.documents import Change, begins, put_edition
from portal.orders.office.open_again import closed_cause, tell_open_again
from portal.shop.calendar.closures import is_open_at, is_shut_at, open_date, reason_told
from portal.shop.calendar.week import Week, read_week
from portal.shop.codes import shown
from portal.shop.moves import AHEAD, JobState
from portal.shop.scheduling.date_letters import DateWatch
from portal.shop.states import DocumentKind
from portal.shop.verbs import EventVerb
from portal.store.tables import Customer, Job, JobForecast

Shuts = Callable[[Any, datetime], bool]  # whether hours are shut at a moment


@dataclass(frozen=True, slots=True)
class ClosureHit:
    """A job that a closed day hits: its drop-off, or the date for which it was told (`was_at`)."""

    job_id: int
    code: str
    name: str
    dropoff_at: datetime | None
    was_at: datetime | None
    now_at: datetime | None

    @property
    def shown_code(self) -> str:
        """The code in groups."""
        return shown(self.code)


def mark_of(hits: Sequence[ClosureHit]) -> str:
    """Return a text that changes with whom a closed day hits."""
    shown = repr([(one.job_id, one.dropoff_at, one.was_at) for one in hits])
    return blake2s(shown.encode(), digest_size=8).hexdigest()


@read_only
def hit_by(
    unit: UnitOfWork, session: Session, body: Mapping[str, Any], from_day: date | None
) -> tuple[ClosureHit, ...]:
    """Return whom a new week would hit; nobody where it can't be read."""
    try:
        week = read_week(body, checked=True)
    except CraftError:
        return ()
    return _newly_hit(unit, session, week, from_day)


@transactional
def put_week(
    unit: UnitOfWork,
    session: Session,
    body: Mapping[str, Any],
    *,
    expected_edition_id: int,
    from_day: date | None = None,
    who: int | None,
) -> tuple[Change, ...]:
    """Put a new week in force as `documents.put_document` does, and tell those whom it hits."""
    hits: Sequence[ClosureHit] = ()
    again: Sequence[int] = ()
    try:
        week = read_week(body)
    except CraftError:
        pass  # the document refuses it in its own words
    else:
        hits = _newly_hit(unit, session, week, from_day)
        again = _open_again(unit, session, week, from_day)
    made = put_edition(
        unit,
        session,
        DocumentKind.WEEK,
        body,
        expected_edition_id=expected_edition_id,
        from_day=from_day,
        who=who,
    )
    _tell(unit, session, hits, read_week(body), who)
    for job_id in again:
        tell_open_again(unit, session, lock_job(session, job_id))
    return made


@transactional
def tell_of_closures(unit: UnitOfWork, session: Session) -> int:
    """Tell those whom a closed day hits and nobody has told: it came in force by itself."""
    week = unit.shop(session).week

    def shuts(hours: Any, moment: datetime) -> bool:
        return is_shut_at(week, hours(week), moment)

    hits = _hits(unit, session, week, unit.now(), shuts)
    return _tell(unit, session, hits, week, None)


def _newly_hit(
    unit: UnitOfWork, session: Session, week: Week, from_day: date | None
) -> tuple[ClosureHit, ...]:
    """Return whom a week hits that the one in force does not."""
    before = unit.shop(session).week

    def shuts(hours: Any, moment: datetime) -> bool:
        was_open = is_open_at(before, hours(before), moment)
        return was_open and not is_open_at(week, hours(week), moment)

    return _hits(unit, session, week, begins(unit, session, from_day, unit.now()), shuts)


def _open_again(
    unit: UnitOfWork, session: Session, week: Week, from_day: date | None
) -> Sequence[int]:
    """Return the jobs whose drop-off lies in hours that were shut and are open in a new week."""
    before, since = unit.shop(session).week, begins(unit, session, from_day, unit.now())
    comes = sa.select(Job.id, Job.dropoff_at).where(
        Job.state == JobState.BOOKED, Job.dropoff_at >= since
    )
    return [
        row.id
        for row in session.execute(comes.order_by(Job.id))
        if is_open_at(week, week.drop_off, row.dropoff_at)
        and not is_open_at(before, before.drop_off, row.dropoff_at)
    ]


def _hits(
    unit: UnitOfWork, session: Session, week: Week, since: datetime, shuts: Shuts
) -> tuple[ClosureHit, ...]:
    due = sa.func.coalesce(JobForecast.told_at, Job.promise_at)
    query = (
        sa.select(Job.id, Job.code, Job.state, Customer.name, Job.dropoff_at, due.label("due"))
        .join(Job.customer)
        .outerjoin(Job.forecast)
        .where(Job.state.in_(AHEAD), sa.or_(Job.dropoff_at >= since, due >= since))
        .order_by(Job.dropoff_at, Job.id)
    )
    today = week.local(unit.now()).date()
    found = []
    for row in session.execute(query):
        comes = row.state is JobState.BOOKED and row.dropoff_at >= since
        comes = comes and shuts(_drop_off, row.dropoff_at)
        goes = row.due >= since and shuts(_pickup, row.due)
        if comes or goes:
            hit = ClosureHit(row.id, row.code, row.name, None, None, None)
            if comes:
                hit = replace(hit, dropoff_at=row.dropoff_at)
            if goes:
                hit = replace(hit, was_at=row.due, now_at=open_date(week, row.due, today))
            found.append(hit)
    return tuple(found)


def _drop_off(week: Week) -> Any:
    return week.drop_off


def _pickup(week: Week) -> Any:
    return week.pickup


def _tell(
    unit: UnitOfWork, session: Session, hits: Sequence[ClosureHit], week: Week, who: int | None
) -> int:
    """Move the promises, and queue the letters; return how many are new."""
    count = 0
    for hit in hits:
        job = lock_job(session, hit.job_id)
        if hit.was_at is not None and hit.now_at is not None:
            _move_promise(session, job, hit.was_at, hit.now_at)
        letter = _letter(unit, session, job, hit, week)
        cause = closed_cause(session, hit.job_id, hit.dropoff_at, hit.was_at)
        if queue_about(unit, session, job, letter, cause):
            count += 1
            day = hit.now_at or hit.dropoff_at
            data = {"day": f"{week.local(day):%Y-%m-%d}"} if day else {}
            record_event(session, job, EventVerb.CLOSED_DAY, at=unit.now(), who=who, data=data)
    return count


def _move_promise(session: Session, job: Job, was_at: datetime, now_at: datetime) -> None:
    if job.promise_at == was_at:
        job.promise_at = now_at
        return
    # a later date was told in its place: that one moves
    row = session.get_one(JobForecast, job.id)
    watch = replace(reading.read(DateWatch, row.watch), told_at=now_at)
    row.told_at, row.watch = now_at, reading.write(watch)


def _letter(unit: UnitOfWork, session: Session, job: Job, hit: ClosureHit, week: Week) -> ClosedDay:
    common = common_of(unit, job, unit.shop(session))
    day = hit.dropoff_at or hit.was_at
    return ClosedDay(
        **common,
        times=f"{common['link']}/time",
        why=reason_told(week, day) if day else None,
        dropoff_at=hit.dropoff_at,
        was_at=hit.was_at,
        now_at=hit.now_at,
    )
