"""What-if for the office: a change tried on the real state of every open job. Saves nothing."""

from collections.abc import Mapping
from dataclasses import dataclass

import sqlalchemy as sa

from portal.orders.kernel.unit import UnitOfWork
from portal.orders.planning.calibration import calibration_now, stations_now
from portal.orders.planning.forecasting import SEED, jobs_ahead
from portal.shop.scheduling.what_if import Compared, Idea, compare
from portal.store.tables import Job


@dataclass(frozen=True, slots=True)
class Tried:
    """What a change would do, and the codes of the jobs by their numbers."""

    idea: Idea
    compared: Compared
    codes: Mapping[int, str]


def try_idea(unit: UnitOfWork, idea: Idea) -> Tried:
    """Forecast the open jobs with and without the change."""
    with unit.read() as session:
        shop, now = unit.shop(session), unit.now()
        stations = stations_now(session, shop, now)
        calibration = calibration_now(session, shop, now)
        jobs = jobs_ahead(session, shop, now)
        numbers = [one.job_id for one in jobs if one.booked]
        rows = session.execute(sa.select(Job.id, Job.code).where(Job.id.in_(numbers))).all()
    compared = compare(idea, jobs, stations, shop.week, now, seed=SEED, calibration=calibration)
    return Tried(idea, compared, {row.id: row.code for row in rows})
