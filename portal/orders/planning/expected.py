"""The customers to be expected who have not booked yet, from the shop's own bookings."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.shop.calendar.week import Week
from portal.shop.moves import JobState
from portal.shop.scheduling.expected_bookings import ExpectedBookings, PastBooking, with_prior
from portal.shop.scheduling.lots import JobWork
from portal.shop.scheduling.stations import PartWork, Stations, read_work
from portal.shop.shop import Shop
from portal.store.tables import Job, Part

RECORD = timedelta(weeks=26)
MOST_JOBS = 400
LASTS = timedelta(hours=1)  # who comes when changes over weeks
REACH = timedelta(days=28)  # the three weeks on offer, and what may pass the last of them
NEVER_CAME = (JobState.CALLED_OFF, JobState.TURNED_AWAY)
WEEK = timedelta(weeks=1)


@dataclass(frozen=True, slots=True)
class _Cached:
    """What was expected last, from which database, stations and week, and when."""

    bind: Any
    stations: Stations
    week: Week
    at: datetime
    expected: ExpectedBookings

    def holds(self, session: Session, shop: Shop, now: datetime) -> bool:
        """Tell whether it still counts."""
        same = self.bind is session.get_bind() and self.week == shop.week
        fresh = timedelta(0) <= now - self.at < LASTS
        return same and fresh and self.stations == shop.stations


@dataclass(slots=True)
class _Cache:
    """What this process expected last; threads replace it as a whole."""

    last: _Cached | None = None


_CACHE = _Cache()


def expected_jobs(session: Session, shop: Shop, now: datetime) -> tuple[JobWork, ...]:
    """Return the jobs to be expected in the next weeks beside those that are booked."""
    cached = _CACHE.last
    if cached is None or not cached.holds(session, shop, now):
        expected = ExpectedBookings(_record(session, shop, now), shop.week)
        cached = _CACHE.last = _Cached(session.get_bind(), shop.stations, shop.week, now, expected)
    return cached.expected.jobs(now, now + REACH)


def _record(session: Session, shop: Shop, now: datetime) -> tuple[PastBooking, ...]:
    """Return the bookings of the last half year, mixed with what any shop may expect."""
    rows = session.execute(
        sa.select(Job.id, Job.booked_at, Job.dropoff_at, Job.rush)
        .where(Job.booked_at > now - RECORD, Job.state.not_in(NEVER_CAME))
        .order_by(Job.id.desc())
        .limit(MOST_JOBS)
    ).all()
    works = _works(session, [row.id for row in rows])
    past = [
        PastBooking(works[row.id], row.dropoff_at, _ahead(row), 0.0, row.rush)
        for row in rows
        if row.id in works
    ]
    weeks = (now - rows[-1].booked_at) / WEEK if rows else 0.0
    return with_prior(past, weeks, shop.stations, shop.week)


def _ahead(row: Any) -> timedelta:
    ahead: timedelta = row.dropoff_at - row.booked_at
    return max(timedelta(0), ahead)


def _works(session: Session, job_ids: Iterable[int]) -> dict[int, tuple[PartWork, ...]]:
    """Return the work of each job's parts; the parts of a set have the same, so it is read once."""
    text = sa.cast(Part.work, sa.Text)
    query = (
        sa.select(Part.job_id, sa.func.count().label("parts"), sa.func.max(text).label("work"))
        .where(Part.job_id.in_(list(job_ids)))
        .group_by(Part.job_id, Part.set_key)
        .order_by(Part.job_id, Part.set_key)
    )
    found: dict[int, tuple[PartWork, ...]] = {}
    for row in session.execute(query):
        own = (read_work(json.loads(row.work)),) * row.parts
        found[row.job_id] = (*found.get(row.job_id, ()), *own)
    return found
