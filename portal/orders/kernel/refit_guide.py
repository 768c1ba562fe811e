"""The refit guide of a job, and which wheel of it goes to which corner."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.answers import RefitStep
from portal.craft.corners import Wheel
from portal.craft.messages import Message
from portal.craft.parts import Declared, PartKind
from portal.craft.quantities import UnitSystem
from portal.craft.refit import guide_for, handbook_for
from portal.orders.kernel.job_links import behind, must_be_done
from portal.orders.kernel.job_lock import NOT_HERE
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.codes import shown
from portal.store.tables import Customer, Job, Part

NOT_YET = Message(
    "The guide to fitting your parts comes when they are ready. You find it then on the page of "
    "your job."
)
# what `wheels_among` needs of a part
WHEEL = (Part.number, Part.set_key, Part.arrived, Part.tag, Part.stamp, Part.corner)


@dataclass(frozen=True, slots=True)
class Refit:
    """The guide of one job, as it stands on paper."""

    token: str
    code: str
    summary: Message
    steps: tuple[RefitStep, ...]
    handbook: Message | None
    units: UnitSystem | None


@read_only
def refit(unit: UnitOfWork, session: Session, token: str) -> Refit:
    """Return the guide of the job behind a link.

    Raise Unknown for a link that is none, or is over, and before the parts are ready.
    """
    columns = (Job.id, Job.token, Job.code, Job.state, Job.summary, Job.declared, Customer.units)
    job = behind(session, token, unit.now(), *columns)
    must_be_done(job.state, NOT_YET)
    declared = declared_of(job)
    steps = guide_for(declared, wheels_of(session, job.id, declared))
    handbook = handbook_for(declared)
    return Refit(job.token, shown(job.code), job.summary, steps, handbook, job.units)


def wheels_of(session: Session, job_id: int, declared: Declared) -> tuple[Wheel, ...]:
    """Return the wheels of a job that go home, with their corners."""
    query = sa.select(*WHEEL).where(Part.job_id == job_id).order_by(Part.number)
    return wheels_among(session.execute(query).all(), declared)


def wheels_among(parts: Iterable[Any], declared: Declared) -> tuple[Wheel, ...]:
    """Return the wheels that go home among parts, with their corners."""
    wheels = {one.key for one in declared.sets if one.kind is PartKind.WHEEL}
    return tuple(
        Wheel(part.number, part.corner, part.tag or "", part.stamp)
        for part in parts
        if part.set_key in wheels and part.arrived not in NOT_HERE
    )
