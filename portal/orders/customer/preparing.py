"""The preparation behind a customer's link: what comes off before coming, and what is done."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.parts import Item, PartSet
from portal.craft.preparing import Task, TyreShop, tasks, tyre_shop
from portal.craft.quantities import UnitSystem
from portal.craft.safe_errands import safe_errands
from portal.orders.customer.slip_view import slip
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.moves import JobState
from portal.store.tables import Job, TakenOff

NOT_EXPECTED = Message("Your parts are here already, or the order is closed.")


@dataclass(frozen=True, slots=True)
class Preparation:
    """What a customer does before coming; `done` are the names of the tasks that are ticked.

    `safety` are the cautions for lifting the car and for brake dust, `before` what else is done
    or left alone.
    """

    token: str
    code: str
    state: JobState
    dropoff_at: datetime
    sets: tuple[PartSet, ...]
    tasks: tuple[Task, ...]
    done: frozenset[str]
    safety: tuple[Message, ...]
    before: tuple[Message, ...]
    tyre_shop: TyreShop | None
    units: UnitSystem | None

    @property
    def at_home(self) -> tuple[Task, ...]:
        """What is done by hand at home."""
        return tuple(one for one in self.tasks if not one.at_tyre_shop)

    @property
    def at_tyre_shop(self) -> tuple[Task, ...]:
        """What a tyre shop does, in one visit."""
        return tuple(one for one in self.tasks if one.at_tyre_shop)

    @property
    def open(self) -> tuple[Task, ...]:
        """What still has to come off."""
        return tuple(one for one in self.tasks if one.name not in self.done)

    def task(self, name: str) -> Task | None:
        """Return a task by its name; None where there is none."""
        return next((one for one in self.tasks if one.name == name), None)


@read_only
def preparation(unit: UnitOfWork, session: Session, token: str) -> Preparation:
    """Return the preparation of the job behind a link; raise Unknown for no link."""
    paper = slip(unit, token)
    job = behind(session, token, unit.now(), Job.id, Job.declared)
    declared = declared_of(job)
    return Preparation(
        token=paper.token,
        code=paper.shown_code,
        state=paper.state,
        dropoff_at=paper.dropoff_at,
        sets=paper.part_sets,
        tasks=tasks(one.appraised for one in paper.sets),
        done=_done(session, job.id),
        safety=safe_errands(declared),
        before=paper.before,
        tyre_shop=tyre_shop(declared),
        units=paper.units,
    )


@transactional
def tick(unit: UnitOfWork, session: Session, token: str, names: Collection[str]) -> None:
    """Save which tasks are done: `names`, and no others. Saving twice is harmless.

    Raise Refused once the parts are no longer expected, or Unknown.
    """
    view = preparation(unit, token)
    job = lock_job(session, behind(session, token, unit.now(), Job.id).id)
    if not job.state.is_expected:
        raise Refused(NOT_EXPECTED)
    wanted = {(one.part_set.key, one.item) for one in view.tasks if one.name in names}
    rows = session.scalars(sa.select(TakenOff).where(TakenOff.job_id == job.id)).all()
    for row in rows:
        if (row.set_key, row.item) not in wanted:
            session.delete(row)
    known = {(row.set_key, row.item) for row in rows}
    session.add_all(
        TakenOff(job_id=job.id, set_key=key, item=item, at=unit.now())
        for key, item in sorted(wanted - known)
    )


def _done(session: Session, job_id: int) -> frozenset[str]:
    rows = session.execute(
        sa.select(TakenOff.set_key, TakenOff.item).where(TakenOff.job_id == job_id)
    )
    return frozenset(f"{key}-{Item(item).value}" for key, item in rows)
