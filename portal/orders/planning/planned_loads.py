"""The oven loads that the forecast expects, read off the floor as it was simulated last."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from portal.craft.bakes import Schedule
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.planning.forecasting import recent_floor
from portal.shop.route import OVEN
from portal.shop.scheduling.bake_batches import bake_of
from portal.shop.scheduling.dispatch import DispatchStep
from portal.shop.scheduling.forecast import Floor


@dataclass(frozen=True, slots=True)
class PlannedLoad:
    """A load of the nominal run: its bake, when it is in the oven (aware UTC), whose parts."""

    bake: Schedule
    starts_at: datetime
    ends_at: datetime
    job_ids: frozenset[int]
    parts: int


def planned_loads(unit: UnitOfWork, session: Session, until: datetime) -> tuple[PlannedLoad, ...]:
    """Return the loads that start before `until`, the earliest first.

    What is in the oven now is among them, with the time that is left to it.
    """
    floor = recent_floor(unit, session)
    found = [_load(floor, step) for step in floor.steps if step.station is OVEN]
    return tuple(one for one in found if one.parts and one.starts_at < until)


def _load(floor: Floor, step: DispatchStep) -> PlannedLoad:
    lots = [floor.lots[index] for index in step.lots]
    booked = [lot for lot in lots if lot.booked]
    first = lots[0].ops[step.visits[0]]
    ends = floor.ground.through(OVEN, step.starts, step.minutes - step.worked)
    return PlannedLoad(
        bake=bake_of(first.batch),
        starts_at=floor.line.moment(step.starts),
        ends_at=floor.line.moment(ends),
        job_ids=frozenset(floor.jobs[lot.job].job_id for lot in booked),
        parts=sum(lot.parts for lot in booked),
    )
