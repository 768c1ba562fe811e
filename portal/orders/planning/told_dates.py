"""What each job's forecast is, and what its customer is told of it.

The rule is `shop.scheduling.date_letters`. A forecast is stored with the memory of the looks before
it, so that a letter leaves only when they agree.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.craft.messages import Message
from portal.orders.kernel.job_lock import record_event
from portal.orders.kernel.notifications import (
    letter_new_date,
    letter_on_time,
    letter_still_waiting,
)
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.calendar.week import Week
from portal.shop.moves import AHEAD, JobState
from portal.shop.scheduling.date_letters import (
    DateNews,
    DateWatch,
    Look,
    follow,
    held_date,
    made_late_by_others,
)
from portal.shop.scheduling.forecast import Outlook
from portal.shop.shop import Shop
from portal.shop.states import FindingAnswer
from portal.shop.verbs import EventVerb
from portal.store.tables import Finding, Job, JobForecast, Move

STOPPED = Message("Work stood still while we waited for your answer.")


@dataclass(frozen=True, slots=True)
class Standing:
    """An open job as a look finds it: its promise, its state, and what is remembered of it."""

    booked_at: datetime
    promise_at: datetime
    here: bool
    awaited: bool
    watch: DateWatch

    def look(self, outlook: Outlook, week: Week, now: datetime) -> Look:
        """Return what a forecast says of it, as pickup hours."""
        likely, safe = hours_of(outlook, week)
        return Look(now, self.promise_at, likely, safe, here=self.here, awaited=self.awaited)


def hours_of(outlook: Outlook, week: Week) -> tuple[datetime, datetime]:
    """Return the likely and the safe pickup hour of an outlook."""
    return week.pickup_after(outlook.likely_at), week.pickup_after(outlook.safe_at)


def standing_jobs(session: Session) -> dict[int, Standing]:
    """Return every open job by its number."""
    asked = sa.exists().where(Finding.job_id == Job.id, Finding.answer == FindingAnswer.OPEN)
    columns = (Job.id, Job.booked_at, Job.promise_at, Job.state, JobForecast.watch)
    query = sa.select(*columns, asked.label("asked")).outerjoin(Job.forecast)
    return {
        row.id: Standing(
            row.booked_at,
            row.promise_at,
            here=row.state.is_in_house,
            awaited=row.state is JobState.WAITING or bool(row.asked),
            watch=reading.read(DateWatch, row.watch or {}),
        )
        for row in session.execute(query.where(Job.state.in_(AHEAD)).order_by(Job.id))
    }


def put_first(
    standing: Mapping[int, Standing],
    outlook: Mapping[int, Outlook],
    without_later_ones: Callable[[], Mapping[int, Outlook]],
    shop: Shop,
    now: datetime,
) -> frozenset[int]:
    """Return the jobs that customers who came later alone make late: they go before those.

    `without_later_ones` forecasts the floor without them.
    """
    week = shop.week
    looks = {
        job_id: job.look(outlook[job_id], week, now)
        for job_id, job in standing.items()
        if job_id in outlook
    }
    watches = {job_id: job.watch for job_id, job in standing.items()}

    def alone() -> dict[int, tuple[datetime, datetime]]:
        return {one: hours_of(found, week) for one, found in without_later_ones().items()}

    return made_late_by_others(looks, watches, shop.dates, alone)


def store_outlook(
    unit: UnitOfWork,
    session: Session,
    outlook: Mapping[int, Outlook],
    shop: Shop,
    first: frozenset[int],
) -> None:
    """Store what is foreseen of every job, and tell customers what they have to know.

    `first` are the jobs that have gone before others since this look.
    """
    now = unit.now()
    rows: list[JobForecast] = []
    news: list[tuple[int, DateNews, datetime, datetime]] = []
    for job_id, standing in standing_jobs(session).items():
        foreseen = outlook.get(job_id)
        if foreseen is None:
            continue
        look = standing.look(foreseen, shop.week, now)
        watch, letter = follow(standing.watch, look, shop.dates, shop.week)
        watch = replace(watch, goes_first=watch.goes_first or job_id in first)
        if letter:
            news.append((job_id, letter, held_date(standing.watch, look), look.safe_at))
        rows.append(_row(job_id, look, watch, foreseen))
    _replace_changed(session, rows)
    for job_id, letter, was_at, now_at in news:
        _tell(unit, session, session.get_one(Job, job_id), letter, (was_at, now_at))


def _row(job_id: int, look: Look, watch: DateWatch, foreseen: Outlook) -> JobForecast:
    # what will more likely be broken than kept is foreseen with a date that holds
    broken = look.likely_at > look.promise_at
    safe = look.safe_at if broken else min(look.safe_at, look.promise_at)
    return JobForecast(
        job_id=job_id,
        safe_at=safe,
        likely_at=min(look.likely_at, safe),
        station=foreseen.station,
        made_at=look.now,
        told_at=watch.told_at,
        early_from=watch.early_from,
        goes_first=watch.goes_first,
        watch=reading.write(watch),
    )


# what a row says; when it was made alone is no news
SAYS = ("safe_at", "likely_at", "station", "told_at", "early_from", "goes_first", "watch")


def _replace_changed(session: Session, rows: Sequence[JobForecast]) -> None:
    """Write the outlooks that say something else than before; most say the same."""
    table = JobForecast
    query = sa.select(table.job_id, *(getattr(table, name) for name in SAYS))
    ids = [row.job_id for row in rows]
    before = {row[0]: tuple(row[1:]) for row in session.execute(query.where(table.job_id.in_(ids)))}
    changed = [
        row for row in rows if before.get(row.job_id) != tuple(getattr(row, name) for name in SAYS)
    ]
    gone = [row.job_id for row in changed]
    session.execute(sa.delete(table).where(table.job_id.in_(gone)))
    session.add_all(changed)
    session.flush()


def _tell(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    news: DateNews,
    dates: tuple[datetime, datetime],
) -> None:
    """Queue the letter, and note on the job that it was written."""
    was_at, now_at = dates
    if news is DateNews.LATER:
        because = _because(session, job)
        new = letter_new_date(unit, session, job, was_at=was_at, now_at=now_at, because=because)
        verb, data = EventVerb.NEW_DATE, {"day": _written(now_at)}
    elif news is DateNews.ON_TIME:
        new = letter_on_time(unit, session, job, was_at=was_at)
        verb, data = EventVerb.ON_TIME, {"day": _written(job.promise_at)}
    else:
        new = letter_still_waiting(unit, session, job)
        verb, data = EventVerb.ASKED_AGAIN, {}
    if new:
        record_event(session, job, verb, at=unit.now(), who=None, data=data)


def _because(session: Session, job: Job) -> Message | None:
    """Return why a job is later: its customer's answer came late, or where its parts wait."""
    waited = sa.select(Move.id).where(Move.job_id == job.id, Move.verb == EventVerb.WAIT).limit(1)
    if session.scalar(waited) is not None:
        return STOPPED
    station = session.scalar(sa.select(JobForecast.station).where(JobForecast.job_id == job.id))
    if station is None:
        return None
    return Message("Parts wait longest at this station: {station}.", station=station)


def _written(day: Any) -> str:
    return f"{day:%Y-%m-%d}"
