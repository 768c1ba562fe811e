"""The forecast of the real floor: offers for a draft, outlooks for open jobs.

A forecast of a busy shop takes a tenth of a second and more, so no use case waits for it. Whatever
changes the floor adds a row (an event, an edition of a document); `floor_key` changes with it, the
worker beside the portal then forecasts anew, and pages reuse the last simulated floor.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.job_lock import NOT_WORKED_ON, record_event
from portal.orders.kernel.notifications import letter_new_date
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.planning.calibration import calibration_now, stations_now
from portal.orders.planning.expected import expected_jobs
from portal.shop.moves import AHEAD
from portal.shop.route import PartStage
from portal.shop.scheduling.forecast import (
    Floor,
    JobWork,
    Outlook,
    PartState,
    look_ahead,
    read_forecast,
)
from portal.shop.scheduling.stations import PartWork, read_work
from portal.shop.shop import Shop
from portal.shop.verbs import EventVerb
from portal.store.tables import Book, Booking, Job, JobForecast, Move, Part

FRESH = timedelta(minutes=10)  # the floor moves on by itself: work gets done without a scan
ORDER_HOLDS = timedelta(minutes=3)
SEED = 20_011

FloorKey = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class _CachedFloor:
    """A floor that was simulated, and what it was simulated from."""

    unit: UnitOfWork
    key: FloorKey
    at: datetime
    floor: Floor

    def holds(self, unit: UnitOfWork, for_: timedelta) -> bool:
        """Tell whether the floor is this unit's and not older than `for_`."""
        return self.unit is unit and timedelta(0) <= unit.now() - self.at < for_


@dataclass(slots=True)
class _FloorCache:
    """The floor that this process simulated last; threads replace it as a whole."""

    last: _CachedFloor | None = None


_CACHE = _FloorCache()


def floor_key(session: Session) -> FloorKey:
    """Return a value that changes with everything that a forecast depends on."""
    row = session.execute(
        sa.select(
            sa.select(sa.func.max(Move.id)).scalar_subquery(),
            sa.select(sa.func.max(Book.id)).scalar_subquery(),
            sa.select(sa.func.max(Booking.id)).scalar_subquery(),
        )
    ).one()
    return (row[0] or 0, row[1] or 0, row[2] or 0)


def open_jobs(session: Session) -> tuple[JobWork, ...]:
    """Return every open job as the forecast needs it, with its parts as they stand."""
    is_open = Job.state.in_(AHEAD)
    parts = _parts_by_job(session, is_open)
    jobs = sa.select(
        Job.id,
        Job.dropoff_at,
        Job.received_at,
        Job.promise_at,
        Job.rush,
    )
    return tuple(
        JobWork(
            job_id=row.id,
            parts=tuple(parts[row.id]),
            arrives_at=row.received_at or row.dropoff_at,
            promise_at=row.promise_at,
            rush=row.rush,
        )
        for row in session.execute(jobs.where(is_open).order_by(Job.id))
        if row.id in parts
    )


def jobs_ahead(session: Session, shop: Shop, now: datetime) -> tuple[JobWork, ...]:
    """Return every open job, and those to be expected of customers who have not booked yet."""
    return (*open_jobs(session), *expected_jobs(session, shop, now))


def _parts_by_job(session: Session, is_open: sa.ColumnElement[bool]) -> dict[int, list[PartState]]:
    rows = session.execute(
        sa.select(
            Part.job_id,
            Part.stage,
            Part.coats_done,
            Part.stage_since,
            Part.reworks,
            sa.cast(Part.work, sa.Text).label("work"),
        )
        .join(Job, Part.job_id == Job.id)
        .where(is_open, Part.arrived.not_in(NOT_WORKED_ON))
        .order_by(Part.job_id, Part.number)
    )
    # the parts of a set have the same work: it is read once
    works: dict[str, PartWork] = {}
    parts: dict[int, list[PartState]] = {}
    for row in rows:
        work = works.get(row.work)
        if work is None:
            work = works[row.work] = read_work(json.loads(row.work))
        state = PartState(work, row.stage, row.coats_done, row.stage_since, row.reworks)
        parts.setdefault(row.job_id, []).append(state)
    return parts


def floor_now(unit: UnitOfWork, session: Session) -> Floor:
    """Return the floor simulated forward; simulated again when something has happened since."""
    key, cached = floor_key(session), _CACHE.last
    if cached is not None and cached.key == key and cached.holds(unit, FRESH):
        return cached.floor
    shop, now = unit.shop(session), unit.now()
    stations = stations_now(session, shop, now)
    floor = look_ahead(jobs_ahead(session, shop, now), stations, shop.week, now, seed=SEED)
    _CACHE.last = _CachedFloor(unit, key, now, floor)
    return floor


def floor_without(unit: UnitOfWork, session: Session, job_id: int) -> Floor:
    """Return the floor simulated forward as if one job were not booked."""
    shop, now = unit.shop(session), unit.now()
    jobs = tuple(one for one in jobs_ahead(session, shop, now) if one.job_id != job_id)
    return look_ahead(jobs, stations_now(session, shop, now), shop.week, now, seed=SEED)


def recent_floor(unit: UnitOfWork, session: Session) -> Floor:
    """Return a floor that was simulated within the last minutes, else simulate it.

    An order of some minutes ago is still good after a scan: not every tag may simulate the floor.
    """
    cached = _CACHE.last
    holds = cached is not None and cached.holds(unit, ORDER_HOLDS)
    return cached.floor if cached and holds else floor_now(unit, session)


def wanted_order(unit: UnitOfWork, session: Session) -> dict[PartStage, tuple[int, ...]]:
    """Return the jobs of each station in the order in which the forecast takes them."""
    return read_forecast(recent_floor(unit, session)).sequence


def reforecast_all(unit: UnitOfWork) -> int:
    """Forecast every open job anew, save the outlooks, and tell customers of new dates."""
    with unit.read() as session:
        shop = unit.shop(session)
        now = unit.now()
        jobs = jobs_ahead(session, shop, now)
        stations = stations_now(session, shop, now)
        margin = calibration_now(session, shop, now).margin
    if not any(one.booked for one in jobs):
        return 0
    floor = look_ahead(jobs, stations, shop.week, now, seed=SEED, keep=0)
    outlook = read_forecast(floor, margin=margin).outlook
    unit.write(lambda session: _store_outlook(unit, session, outlook, shop, now))
    return len(outlook)


def _store_outlook(
    unit: UnitOfWork, session: Session, outlook: dict[int, Outlook], shop: Shop, now: datetime
) -> None:
    query = sa.select(Job.id, Job.promise_at).where(Job.id.in_(outlook), Job.state.in_(AHEAD))
    rows: list[JobForecast] = []
    late: list[tuple[int, datetime]] = []
    for job_id, promise in session.execute(query.order_by(Job.id)):
        foreseen = outlook[job_id]
        likely, safe = (shop.week.pickup_after(at) for at in (foreseen.likely_at, foreseen.safe_at))
        # a promise that will more likely be broken than kept is announced now, with one that holds
        forecast = safe if likely > promise else min(safe, promise)
        row = JobForecast(job_id=job_id, safe_at=forecast, station=foreseen.station, made_at=now)
        row.likely_at = min(likely, forecast)
        rows.append(row)
        if likely > promise:
            late.append((job_id, forecast))
    ids = [row.job_id for row in rows]
    session.execute(sa.delete(JobForecast).where(JobForecast.job_id.in_(ids)))
    session.add_all(rows)
    announced = _announced_days(session, [job_id for job_id, _ in late])
    for job_id, day in late:
        # unless the same day or a later one was told before
        if announced.get(job_id, "") < _written(day):
            _announce(unit, session, session.get_one(Job, job_id), day, outlook[job_id].station)


def _announced_days(session: Session, job_ids: Sequence[int]) -> dict[int, str]:
    """Return the latest day that the customer of each job was told, where there is one."""
    query = (
        sa.select(Move.job_id, sa.func.max(Move.data["day"].as_string()))
        .where(Move.job_id.in_(job_ids), Move.verb == EventVerb.NEW_DATE)
        .group_by(Move.job_id)
    )
    return dict(session.execute(query).all())


def _announce(
    unit: UnitOfWork, session: Session, job: Job, day: datetime, station: PartStage
) -> None:
    """Send the new date."""
    because = Message("Parts wait longest at this station: {station}.", station=station)
    if letter_new_date(unit, session, job, now_at=day, because=because):
        record_event(
            session, job, EventVerb.NEW_DATE, at=unit.now(), who=None, data={"day": _written(day)}
        )


def _written(day: datetime) -> str:
    return f"{day:%Y-%m-%d}"
