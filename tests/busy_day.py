"""A busy day for tests: sixty open jobs of many kinds, of which some come and some go out today."""

from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa

from portal.orders.counter import hand_back
from portal.orders.counter.tags import add_tags
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.production import floor, strip_runs
from portal.orders.production.oven import start_load, waiting_of
from portal.shop.faults import Fault
from portal.shop.route import PartStage
from portal.shop.scheduling.oven_loads import propose
from portal.store.tables import Job, Part
from tests.databases import scene
from tests.factories import (
    PAINTED,
    TWO_COATS,
    WHEELS,
    Booked,
    a_booked_job,
    a_job_at,
    a_job_in_work,
    a_token,
)
from tests.orders.test_findings import painted, raise_it

CALIPERS: dict[str, Any] = {
    "kind": "caliper",
    "count": 2,
    "metal": "cast_iron",
    "size_mm": [260, 140, 120],
    "layers": ["liquid_paint"],
    "finish": {"system": "single", "colour": "R3020-G", "gloss": "gloss"},
}
RAILING: dict[str, Any] = {
    "kind": "railing",
    "count": 2,
    "metal": "steel",
    "size_mm": [1400, 1100, 40],
    "layers": ["bare"],
    "finish": {"system": "texture", "colour": "SLATE-X", "gloss": "matt"},
}
FRAME: dict[str, Any] = {
    "kind": "frame",
    "count": 1,
    "metal": "steel",
    "size_mm": [1000, 600, 150],
    "layers": ["bare"],
    "finish": {"system": "single", "colour": "R6005-S", "gloss": "satin"},
}
EVERY = (WHEELS, CALIPERS, TWO_COATS, RAILING, PAINTED, FRAME)
SURNAMES = (
    "Marsh", "Bexley", "Oakes", "Tern", "Pell", "Rowan", "Farrow", "Ashby", "Lowe", "Crane",
    "Birk", "Sayer", "Lund", "Wynn", "Yule", "Larkspur", "Brack", "Vane", "Crisp", "Holt",
)  # fmt: skip
FIRST = ("Isolde", "Ada", "Tom", "Jon", "Wil", "Gerda", "Imke", "Nell", "Piers", "Anna", "Hugh")
ON_THE_WAY = (PartStage.PREP, PartStage.BLAST, PartStage.COAT, PartStage.CURE, PartStage.INSPECT)


def a_name(n: int) -> str:
    return f"{FIRST[n % len(FIRST)]} {SURNAMES[n % len(SURNAMES)]}"


def a_phone(n: int) -> str:
    return f"+4477009{n:05d}"


def _put(unit: UnitOfWork, job: Booked, **values: datetime) -> None:
    unit.write(lambda s: s.execute(sa.update(Job).where(Job.id == job.job_id).values(values)))


def promise(unit: UnitOfWork, job: Booked, at: datetime) -> None:
    """Promise a job for a moment."""
    _put(unit, job, promise_at=at, promised_first_at=at)


def _came(unit: UnitOfWork, job: Booked, at: datetime) -> None:
    _put(unit, job, received_at=at, dropoff_at=at, dropoff_until=at + timedelta(minutes=30))


@scene
def a_busy_day(unit: UnitOfWork, jobs: int = 60, drop_offs: int = 12) -> int:
    """Open that many jobs; return how many of them are still to come today."""
    now = unit.now()
    add_tags(unit, "1001", "1400")
    tags = iter(range(1001, 1400, 4))
    for n in range(drop_offs):
        one = a_booked_job(
            unit,
            EVERY[n % len(EVERY)],
            name=a_name(n),
            phone=a_phone(n),
            vehicle="",
            dropoff=timedelta(minutes=30 * n - 45),
        )
        promise(unit, one, now + timedelta(days=6, hours=n))
    here = []
    for n in range(drop_offs, jobs):
        told: dict[str, Any] = {"name": a_name(n), "phone": a_phone(n), "vehicle": ""}
        stage = ON_THE_WAY[n % len(ON_THE_WAY)]
        one = a_job_at(unit, stage, EVERY[(n // 5) % 2], first_tag=next(tags), **told)
        promise(unit, one, now + timedelta(days=2 + n % 4, hours=n % 5))
        _came(unit, one, now - timedelta(days=1 if n > drop_offs + 3 else 0, minutes=20 * n))
        here.append(one)
    _going_out(unit, here[:9], now)
    return drop_offs


def _going_out(unit: UnitOfWork, jobs: list[Booked], now: datetime) -> None:
    for n, one in enumerate(jobs[:6]):
        promise(unit, one, now + timedelta(hours=n))
    promise(unit, jobs[0], now - timedelta(days=2))
    for one in jobs[6:9]:
        promise(unit, one, now + timedelta(days=1))


def a_full_day(unit: UnitOfWork, clock: Any) -> None:
    """A busy day with everything on it: ready, asked, sent back, in the oven, out of the house."""
    a_busy_day(unit)
    now = unit.now()
    ready = a_job_at(unit, PartStage.DONE, FRAME, first_tag=101, name="Nell Ashby")
    promise(unit, ready, now + timedelta(hours=2))
    hand_back.make_ready(unit, ready.job_id, who=None)
    again = a_job_at(unit, PartStage.INSPECT, RAILING, first_tag=111, name="Cato Wynn")
    promise(unit, again, now + timedelta(hours=5))
    floor.rework(unit, again.part_ids[0], Fault.RUN, who=None)
    run = strip_runs.open_run(unit, now.date(), now.date() + timedelta(days=2), who=None)
    away = a_job_in_work(unit, PAINTED, first_tag=121, name="Garage Rowan")
    strip_runs.gather(unit, run, "121", who=None)
    promise(unit, away, now + timedelta(days=1))
    asked = a_job_in_work(unit, WHEELS, first_tag=131, name="Anselm Roo")
    raise_it(unit, asked, painted(unit, asked, 1))
    _load(unit)


def _load(unit: UnitOfWork) -> None:
    """Start the first load that could be started now."""
    with unit.read() as session:
        query = sa.select(Part).where(Part.stage == PartStage.CURE).order_by(Part.id)
        first = propose(
            [waiting_of(row) for row in session.scalars(query)],
            unit.shop(session).stations.oven,
        )[0]
    start_load(
        unit,
        first.part_ids,
        set_point_c=first.set_point_c,
        minutes=first.minutes,
        once_token=a_token(),
        who=None,
    )
