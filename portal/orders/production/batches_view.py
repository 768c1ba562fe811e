"""Strip runs as pages show them."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.production.board_view import groups_in
from portal.orders.production.groups import Group
from portal.shop.codes import shown
from portal.shop.moves import JobState
from portal.shop.route import OUTSIDE, ROUTE
from portal.shop.states import Arrival, RunState
from portal.store.floor import StripRun, StripRunPart
from portal.store.jobs import Job, Part

RECENT = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class BatchPart:
    """One part in a run or a load; `coat` is 0 before the first."""

    id: int
    code: str
    number: int
    tag: str
    label: Message
    back: bool = False
    lost: bool = False
    coat: int = 0

    @property
    def shown_code(self) -> str:
        """The code in groups."""
        return shown(self.code)


@dataclass(frozen=True, slots=True)
class RunView:
    """A strip run with its tags. `late` when it should have been back."""

    id: int
    leaves_on: date
    back_on: date
    state: str
    sent_at: datetime | None
    returned_at: datetime | None
    parts: tuple[BatchPart, ...]
    late: bool = False

    @property
    def missing(self) -> tuple[BatchPart, ...]:
        """What has been neither counted back nor written off."""
        return tuple(part for part in self.parts if not (part.back or part.lost))


@dataclass(frozen=True, slots=True)
class RunsPage:
    """Every open run, those that came back lately, and what could go with the next."""

    open: tuple[RunView, ...]
    back: tuple[RunView, ...]
    candidates: tuple[Group, ...]
    leaves_on: date
    back_on: date


@read_only
def runs(unit: UnitOfWork, session: Session) -> RunsPage:
    """Return the strip runs and what waits for one."""
    week = unit.shop(session).week
    today = week.local(unit.now()).date()
    coming = week.strip_run_after(unit.now())
    query = sa.select(StripRun.id).where(
        sa.or_(StripRun.state != RunState.BACK, StripRun.returned_at > unit.now() - RECENT)
    )
    found = [_run(session, one, today) for one in session.scalars(query.order_by(StripRun.id))]
    groups = groups_in(session)
    waits = [group for stage in ROUTE for group in groups.get(stage, ()) if _needs_run(group)]
    return RunsPage(
        open=tuple(one for one in found if one.state is not RunState.BACK),
        back=tuple(one for one in found if one.state is RunState.BACK),
        candidates=tuple(group for group in waits if group.state is JobState.IN_WORK),
        leaves_on=coming.leaves_on if coming else today,
        back_on=coming.back_on if coming else today + timedelta(days=2),
    )


def no_such_run(run_id: int) -> Message:
    """Say that a run is none of ours."""
    return Message("There is no strip run {run}.", run=run_id)


@read_only
def run_view(unit: UnitOfWork, session: Session, run_id: int) -> RunView:
    """Return one strip run with its tags."""
    return _run(session, run_id, unit.shop(session).week.local(unit.now()).date())


def _needs_run(group: Group) -> bool:
    return group.next_stage is OUTSIDE or (
        group.stage is OUTSIDE and not any(part.where for part in group.parts)
    )


def _run(session: Session, run_id: int, today: date) -> RunView:
    row = session.execute(
        sa.select(
            StripRun.leaves_on,
            StripRun.back_on,
            StripRun.state,
            StripRun.sent_at,
            StripRun.returned_at,
        ).where(StripRun.id == run_id)
    ).first()
    if row is None:
        raise Unknown(no_such_run(run_id))
    query = (
        sa.select(
            Part.id,
            Job.code,
            Part.number,
            Part.tag,
            Part.label,
            StripRunPart.counted_back,
            Part.arrived,
        )
        .join(StripRunPart, StripRunPart.part_id == Part.id)
        .join(Job, Job.id == Part.job_id)
        .where(StripRunPart.run_id == run_id)
        .order_by(Job.id, Part.number)
    )
    parts = tuple(
        BatchPart(one, code, number, tag or "", label, back=back, lost=arrived is Arrival.LOST)
        for one, code, number, tag, label, back, arrived in session.execute(query).all()
    )
    late = row.state is RunState.AWAY and row.back_on < today
    return RunView(
        run_id,
        row.leaves_on,
        row.back_on,
        row.state,
        row.sent_at,
        row.returned_at,
        parts,
        late=late,
    )
