"""The forecast of the real floor: offers for a draft, outlooks for open jobs.

A forecast of a busy shop takes a tenth of a second and more, so no use case waits for it. Whatever
changes the floor adds a row (an event, an edition of a document); `floor_key` changes with it, the
worker beside the portal then forecasts anew and stores the floor, which pages read
(`stored_floor`). Nothing is simulated while a transaction is open.
"""

import json
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.orders.kernel.job_lock import NOT_WORKED_ON
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.planning.calibration import calibration_now, stations_now
from portal.orders.planning.expected import expected_jobs
from portal.orders.planning.stored_floor import (
    FloorKey,
    NewestWork,
    StoredFloor,
    floor_key,
    order_in,
    shop_mark,
    simulated_at,
    store_floor,
    stored_floor,
    stored_plan,
    stored_record,
)
from portal.orders.planning.told_dates import put_first, standing_jobs, store_outlook
from portal.shop.moves import AHEAD
from portal.shop.route import PartStage
from portal.shop.scheduling.forecast import (
    Floor,
    JobWork,
    Outlook,
    PartState,
    read_forecast,
    simulate_floor,
)
from portal.shop.scheduling.promising import Calibration
from portal.shop.scheduling.stations import PartWork, read_work
from portal.shop.shop import Shop
from portal.store.tables import Job, JobForecast, Part

FRESH = timedelta(minutes=10)  # the floor moves on by itself: work gets done without a scan
SEED = 20_011


@dataclass(frozen=True, slots=True)
class _CachedFloor:
    """A floor in memory: of which database, by which mark."""

    bind: Any
    mark: object
    floor: Floor


@dataclass(slots=True)
class _FloorCache:
    """The floor that this process read or simulated last; threads replace it as a whole."""

    last: _CachedFloor | None = None
    turn: threading.Lock = field(default_factory=threading.Lock)

    def get(self, bind: Any, mark: object) -> Floor | None:
        """Return the floor of a mark, where it is this one."""
        last = self.last
        return last.floor if last and last.bind is bind and last.mark == mark else None

    def get_or_make(self, bind: Any, mark: object, make: Callable[[], Floor]) -> Floor:
        """Return the floor of a mark, made by one thread where several ask."""
        with self.turn:
            found = self.get(bind, mark) or make()
            self.last = _CachedFloor(bind, mark, found)
            return found


_CACHE = _FloorCache()


@dataclass(frozen=True, slots=True)
class FloorSource:
    """What a transaction has read of the floor; `make` makes it when the transaction has ended."""

    calibration: Calibration
    make: Callable[[], Floor]


def read_floor(
    unit: UnitOfWork, session: Session, *, sure: bool = False, without: int = 0
) -> FloorSource:
    """Read what the floor is made of: the stored simulation, or what to simulate it from.

    The stored one serves while it is fresh, though something may have happened since; where a
    date is promised (`sure`), only while nobody has booked since. `without` leaves a job out.
    """
    shop, now, key = unit.shop(session), unit.now(), floor_key(session)
    stored = None if without else stored_floor(session)
    if stored and _serves(stored, shop, now, key.work if sure else None):
        return _unpacked(session, stored, shop)
    return _simulated(session, shop, now, key, without=without)


def _unpacked(session: Session, stored: StoredFloor, shop: Shop) -> FloorSource:
    bind, mark = session.get_bind(), (stored.version, stored.at)
    known = _CACHE.get(bind, mark)
    if known is not None:
        return FloorSource(stored.calibration, lambda: known)
    record = stored_record(session)

    def unpack() -> Floor:
        # numpy only where something is forecast
        from portal.shop.scheduling.floor_record import floor_from  # noqa: PLC0415

        return floor_from(record, stored.inputs, shop.stations, shop.week)

    return FloorSource(stored.calibration, lambda: _CACHE.get_or_make(bind, mark, unpack))


def _simulated(
    session: Session, shop: Shop, now: datetime, key: FloorKey, *, without: int
) -> FloorSource:
    bind = session.get_bind()
    calibration = calibration_now(session, shop, now)
    # the floor moves on by itself: what nothing has changed serves for some minutes
    mark = (key, shop_mark(shop), without, int(now.timestamp() // FRESH.total_seconds()))
    known = _CACHE.get(bind, mark)
    if known is not None:
        return FloorSource(calibration, lambda: known)
    jobs = tuple(one for one in jobs_ahead(session, shop, now) if one.job_id != without)
    stations = stations_now(session, shop, now)

    def simulate() -> Floor:
        return simulate_floor(jobs, stations, shop.week, now, seed=SEED)

    if without:
        return FloorSource(calibration, simulate)
    return FloorSource(calibration, lambda: _CACHE.get_or_make(bind, mark, simulate))


def _serves(stored: StoredFloor, shop: Shop, now: datetime, work: NewestWork | None) -> bool:
    """Return whether a stored simulation may be used: `work` is what it must have known."""
    fresh = timedelta(0) <= now - stored.at < FRESH
    return fresh and stored.shop == shop_mark(shop) and work in (None, stored.work)


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
        JobForecast.goes_first,
    ).outerjoin(Job.forecast)
    return tuple(
        JobWork(
            job_id=row.id,
            parts=tuple(parts[row.id]),
            arrives_at=row.received_at or row.dropoff_at,
            promise_at=row.promise_at,
            rush=row.rush or bool(row.goes_first),
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


def wanted_order(session: Session) -> dict[PartStage, tuple[int, ...]]:
    """Return the jobs of each station in the order in which the last forecast takes them."""
    return order_in(stored_plan(session))


def reforecast_all(unit: UnitOfWork) -> int:
    """Forecast every open job anew, store floor and outlooks, and tell customers of new dates."""
    with unit.read() as session:
        shop, now, key = unit.shop(session), unit.now(), floor_key(session)
        jobs = jobs_ahead(session, shop, now)
        stations = stations_now(session, shop, now)
        calibration = calibration_now(session, shop, now)
        standing, since = standing_jobs(session), simulated_at(session)

    def simulate(these: Sequence[JobWork]) -> tuple[Floor, dict[int, Outlook]]:
        floor = simulate_floor(these, stations, shop.week, now, seed=SEED)
        return floor, read_forecast(floor, margin=calibration.margin).outlook

    def without_later_ones() -> dict[int, Outlook]:
        later = {one for one, job in standing.items() if since and job.booked_at > since}
        return simulate([one for one in jobs if one.booked and one.job_id not in later])[1]

    floor, outlook = simulate(jobs)
    first = put_first(standing, outlook, without_later_ones, shop, now)
    if first:
        jobs = tuple(replace(one, rush=one.rush or one.job_id in first) for one in jobs)
        floor, outlook = simulate(jobs)
    to_store = _to_store(floor, shop, key, calibration)
    unit.write(lambda session: store_floor(session, floor, *to_store))
    if outlook:
        unit.write(lambda session: store_outlook(unit, session, outlook, shop, first))
    return len(outlook)


def _to_store(
    floor: Floor, shop: Shop, key: FloorKey, calibration: Calibration
) -> tuple[bytes, dict[str, Any], dict[str, Any]]:
    """Return the record of a floor, what it is read with, and what it knew."""
    from portal.shop.scheduling.floor_record import inputs_of, record_of  # noqa: PLC0415  # numpy

    inputs = inputs_of(floor) | {"calibration": reading.write(calibration, all_of_it=True)}
    return record_of(floor), inputs, {"work": list(key.work), "shop": shop_mark(shop)}
