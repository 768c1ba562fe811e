"""The oven loads and strip runs of a day: what ran, runs, leaves, comes back and is planned."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.bakes import Bake
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.planning.planned_loads import PlannedLoad, planned_loads
from portal.orders.production.oven_view import FORGOTTEN
from portal.shop.calendar.week import Week
from portal.shop.states import Arrival, RunState
from portal.store.floor import OvenLoad, OvenLoadPart, StripRun, StripRunPart
from portal.store.jobs import Part

# the axis of the forecast has whole minutes, and its floor may be some minutes old
AT_ONCE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class DueLoad:
    """An oven load of the day; `number` is 0 while it is only planned."""

    number: int
    bake: Bake
    set_point_c: int
    parts: int
    starts_at: datetime
    ends_at: datetime
    closed: bool = False
    overdue: bool = False

    @property
    def planned(self) -> bool:
        """Whether nobody has started it yet."""
        return not self.number

    @property
    def running(self) -> bool:
        """Whether it is in the oven."""
        return not self.planned and not self.closed


@dataclass(frozen=True, slots=True)
class DueRun:
    """A strip run that leaves or comes back on the day, or should have before.

    `number` is 0 for a run of the calendar for which nothing has been gathered; `missing` counts
    tags that are still away. `at` is when it leaves, or is due back.
    """

    number: int
    back: bool
    at: datetime
    parts: int
    missing: int = 0
    done: bool = False
    overdue: bool = False


def loads_due(
    unit: UnitOfWork, session: Session, begins: datetime, ends: datetime
) -> tuple[DueLoad, ...]:
    """Return the loads between two moments, those that run, and those that are planned."""
    now = unit.now()
    inside = sa.func.count(OvenLoadPart.part_id).filter(OvenLoadPart.out_at.is_(None))
    query = (
        sa.select(
            OvenLoad.id,
            OvenLoad.kind,
            OvenLoad.set_point_c,
            OvenLoad.minutes,
            OvenLoad.started_at,
            OvenLoad.closed_at,
            inside.label("parts"),
        )
        .outerjoin(OvenLoadPart, OvenLoadPart.load_id == OvenLoad.id)
        .where(sa.or_(OvenLoad.closed_at.is_(None), OvenLoad.closed_at >= begins))
        .group_by(OvenLoad.id)
        .order_by(OvenLoad.started_at, OvenLoad.id)
    )
    started = [_started(row, now) for row in session.execute(query)]
    busy = _jobs_in_the_oven(session)
    planned = [
        DueLoad(0, one.bake.bake, one.bake.set_point_c, one.parts, one.starts_at, one.ends_at)
        for one in planned_loads(session, ends)
        if one.ends_at <= ends and not _is_running(one, busy, now)
    ]
    return (*started, *planned)


def runs_due(session: Session, week: Week, day: date, now: datetime) -> tuple[DueRun, ...]:
    """Return the strip runs that leave or come back on a day, and those that are overdue."""
    away = sa.and_(StripRunPart.counted_back.is_(False), Part.arrived != Arrival.LOST)
    query = (
        sa.select(
            StripRun.id,
            StripRun.state,
            StripRun.leaves_on,
            StripRun.back_on,
            StripRun.sent_at,
            StripRun.returned_at,
            sa.func.count(StripRunPart.part_id).label("parts"),
            sa.func.count(StripRunPart.part_id).filter(away).label("missing"),
        )
        .outerjoin(StripRunPart, StripRunPart.run_id == StripRun.id)
        .outerjoin(Part, Part.id == StripRunPart.part_id)
        .where(
            sa.or_(
                StripRun.state != RunState.BACK,
                StripRun.returned_at >= week.moment(day, datetime.min.time()),
            )
        )
        .group_by(StripRun.id)
        .order_by(StripRun.id)
    )
    rows = session.execute(query).all()
    found = [one for row in rows for one in _legs(row, week, day, now)]
    if all(one.back for one in found):
        found += [DueRun(0, back=False, at=run.cut_off_at, parts=0) for run in week.runs(day, 1)]
    return tuple(sorted(found, key=lambda one: one.at))


def _started(row: Any, now: datetime) -> DueLoad:
    ends = row.started_at + timedelta(minutes=row.minutes)
    return DueLoad(
        number=row.id,
        bake=row.kind,
        set_point_c=row.set_point_c,
        parts=row.parts,
        starts_at=row.started_at,
        ends_at=row.closed_at or max(ends, row.started_at),
        closed=row.closed_at is not None,
        overdue=row.closed_at is None and now - ends > FORGOTTEN,
    )


def _jobs_in_the_oven(session: Session) -> frozenset[int]:
    query = (
        sa.select(Part.job_id)
        .join(OvenLoadPart, OvenLoadPart.part_id == Part.id)
        .join(OvenLoad, OvenLoad.id == OvenLoadPart.load_id)
        .where(OvenLoad.closed_at.is_(None), OvenLoadPart.out_at.is_(None))
        .distinct()
    )
    return frozenset(session.scalars(query))


def _is_running(one: PlannedLoad, busy: frozenset[int], now: datetime) -> bool:
    """Whether the forecast means a load that is in the oven now."""
    return one.starts_at <= now + AT_ONCE and one.job_ids <= busy


def _legs(row: Any, week: Week, day: date, now: datetime) -> Iterator[DueRun]:
    """Yield the way out and the way back of a run, where they fall on the day or before it."""
    leaves = row.sent_at or week.moment(row.leaves_on, week.strip_runs.cut_off)
    if week.local(leaves).date() == day or (row.sent_at is None and leaves < now):
        late = row.sent_at is None and leaves < now
        yield DueRun(
            row.id, back=False, at=leaves, parts=row.parts, done=bool(row.sent_at), overdue=late
        )
    back = row.returned_at or week.moment(row.back_on, week.strip_runs.back_at)
    if row.state is not RunState.GATHERING and week.local(back).date() <= day:
        yield DueRun(
            row.id,
            back=True,
            at=back,
            parts=row.parts,
            missing=row.missing,
            done=row.returned_at is not None,
            overdue=row.returned_at is None and back < now,
        )
