"""The floor as it was simulated last, in one row that the worker renews and all processes read.

Pages read it and never simulate; what changed since is known a few seconds later.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache
from hashlib import sha256
from typing import Any, NamedTuple

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.shop.calendar.week import Week
from portal.shop.route import OVEN, PartStage
from portal.shop.scheduling.dispatch import DispatchStep
from portal.shop.scheduling.forecast import Floor, read_forecast
from portal.shop.scheduling.promising import Calibration
from portal.shop.scheduling.stations import Stations
from portal.shop.shop import Shop
from portal.store.floors import THE_ONE
from portal.store.tables import Booking, Job, Move, SettingsEdition, SimulatedFloor

LOADS_AHEAD = timedelta(days=7)  # what a page of the day may ask for


class NewestWork(NamedTuple):
    """The newest document, booking and job: they change when there is more to do."""

    documents: int
    bookings: int
    jobs: int


class FloorKey(NamedTuple):
    """The newest row of everything that a forecast depends on."""

    moves: int
    work: NewestWork


@dataclass(frozen=True, slots=True)
class StoredFloor:
    """A stored simulation without its record: which it is, when it was made, and from what."""

    version: int
    at: datetime
    work: NewestWork
    shop: str
    inputs: Mapping[str, Any]

    @property
    def calibration(self) -> Calibration:
        """The calibration of promises that was in force."""
        return reading.read(Calibration, self.inputs["calibration"])


def newest_work(session: Session) -> NewestWork:
    """Return a value that changes with everything that there is to do."""
    return NewestWork(*_newest(session, SettingsEdition, Booking, Job))


def floor_key(session: Session) -> FloorKey:
    """Return a value that changes with everything that a forecast depends on."""
    moves, *work = _newest(session, Move, SettingsEdition, Booking, Job)
    return FloorKey(moves, NewestWork(*work))


def _newest(session: Session, *tables: Any) -> Sequence[int]:
    last = (sa.func.coalesce(sa.func.max(table.id), 0) for table in tables)
    return tuple(
        session.execute(sa.select(*(sa.select(one).scalar_subquery() for one in last))).one()
    )


def shop_mark(shop: Shop) -> str:
    """Return a text that changes with the documents that a simulation is made from."""
    return _mark(shop.week, shop.stations)


@lru_cache(maxsize=8)
def _mark(week: Week, stations: Stations) -> str:
    own = [(one.key.value, reading.write(one)) for one in stations.by_key]
    shared = replace(stations, by_key=())
    return sha256(repr((reading.write(week), own, shared)).encode()).hexdigest()


def stored_floor(session: Session) -> StoredFloor | None:
    """Return the stored simulation, None before the first."""
    row = session.execute(
        sa.select(
            SimulatedFloor.version,
            SimulatedFloor.at,
            SimulatedFloor.seen,
            SimulatedFloor.inputs,
        )
    ).first()
    if row is None:
        return None
    work = NewestWork(*row.seen["work"])
    return StoredFloor(row.version, row.at, work, row.seen["shop"], row.inputs)


def stored_record(session: Session) -> bytes:
    """Return the services on record of the stored simulation."""
    return session.scalars(sa.select(SimulatedFloor.record)).one()


def stored_plan(session: Session) -> dict[str, Any]:
    """Return the order of work and the oven loads, empty before the first simulation."""
    return session.scalar(sa.select(SimulatedFloor.plan)) or {"order": {}, "loads": []}


def simulated_at(session: Session) -> datetime | None:
    """Return when the floor was simulated last."""
    return session.scalar(sa.select(SimulatedFloor.at))


def store_floor(
    session: Session, floor: Floor, record: bytes, inputs: Mapping[str, Any], seen: dict[str, Any]
) -> None:
    """Replace the stored simulation, unless a later one is there already."""
    row = session.get(SimulatedFloor, THE_ONE)
    if row is None:
        row = SimulatedFloor(id=THE_ONE, version=0)
        session.add(row)
    elif row.at > floor.now:
        return
    row.version += 1
    row.at, row.seen, row.inputs = floor.now, seen, dict(inputs)
    row.plan, row.record = plan_of_floor(floor), record


def plan_of_floor(floor: Floor) -> dict[str, Any]:
    """Return the order of work at each station and the next oven loads, as plain values."""
    order = read_forecast(floor).sequence
    loads = [_load(floor, one) for one in floor.steps if one.station is OVEN]
    until = (floor.now + LOADS_AHEAD).isoformat()
    return {
        "order": {stage.value: list(jobs) for stage, jobs in order.items()},
        "loads": [one for one in loads if one["parts"] and one["starts_at"] < until],
    }


def order_in(plan: Mapping[str, Any]) -> dict[PartStage, tuple[int, ...]]:
    """Return the jobs of each station in the order in which the forecast takes them."""
    return {PartStage(key): tuple(jobs) for key, jobs in plan["order"].items()}


def _load(floor: Floor, step: DispatchStep) -> dict[str, Any]:
    lots = [floor.lots[index] for index in step.lots]
    booked = [lot for lot in lots if lot.booked]
    ends = floor.sim.through(OVEN, step.starts, step.minutes - step.worked)
    return {
        "batch": lots[0].ops[step.visits[0]].batch,
        "starts_at": floor.line.moment(step.starts).isoformat(),
        "ends_at": floor.line.moment(ends).isoformat(),
        "job_ids": sorted({floor.jobs[lot.job].job_id for lot in booked}),
        "parts": sum(lot.parts for lot in booked),
    }
