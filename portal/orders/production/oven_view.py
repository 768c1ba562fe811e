"""The oven as pages show it: running loads, what should go in next, and the heat of each part."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.bakes import Bake
from portal.craft.heat_sum import Baked
from portal.craft.messages import Message
from portal.orders.kernel.job_lock import load_job, load_part
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.kernel.work_card import CardCoat
from portal.orders.planning.forecasting import wanted_order
from portal.orders.production.batches_view import BatchPart
from portal.orders.production.board_view import groups_in, in_order
from portal.orders.production.groups import Group
from portal.orders.production.oven import coats_due, may_pre_bake, waiting_of
from portal.orders.production.part_heat import (
    PartHeat,
    had_pre_bake,
    heat_of_part,
    heat_of_parts,
)
from portal.orders.production.powder_batches import PowderInLoad, batches_in, powders_in
from portal.shop.codes import shown
from portal.shop.moves import JobState
from portal.shop.route import EACH_COAT, OVEN
from portal.shop.scheduling.oven_loads import Load, Waiting, propose
from portal.shop.scheduling.stations import read_work
from portal.store.floor import OvenLoad, OvenLoadPart
from portal.store.jobs import Job, Part

# a load that is closed so much later is asked when it really came out
FORGOTTEN = timedelta(minutes=5)
LAST_CLOSED = 8


@dataclass(frozen=True, slots=True)
class LoadView:
    """An oven load that runs or ran; `real_min` is how long it really was at its temperature."""

    id: int
    bake: Bake
    set_point_c: int
    minutes: int
    started_at: datetime
    ends_at: datetime
    closed_at: datetime | None
    minutes_left: int
    real_min: int
    forgotten: bool
    parts: tuple[BatchPart, ...]
    batches: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class HeatLine:
    """Parts that have had the same heat: whole minutes at 200 °C, `after` with the load."""

    tags: tuple[str, ...]
    part_ids: tuple[int, ...]
    so_far: int
    after: int
    limit: int

    @property
    def too_much(self) -> bool:
        """Whether the load takes them beyond the limit."""
        return self.after > self.limit

    @property
    def left(self) -> int:
        """What is left before the load."""
        return max(0, self.limit - self.so_far)


@dataclass(frozen=True, slots=True)
class Proposal:
    """A load that could be started now; `percent` is how full the oven would be."""

    bake: Bake
    part_ids: tuple[int, ...]
    set_point_c: int
    minutes: int
    percent: int
    groups: tuple[Group, ...]
    heat: tuple[HeatLine, ...]
    powders: tuple[PowderInLoad, ...] = ()


@dataclass(frozen=True, slots=True)
class OvenPage:
    """Running loads, proposals, and the last loads that were closed."""

    running: tuple[LoadView, ...]
    proposals: tuple[Proposal, ...]
    closed: tuple[LoadView, ...]


@dataclass(frozen=True, slots=True)
class HeatPage:
    """The heat of one part, in whole minutes at 200 °C.

    `for_rework` is the sum after all its coats once more, `for_last` after the last one alone.
    """

    part_id: int
    code: str
    number: int
    tag: str
    label: Message
    heat: PartHeat
    for_rework: int
    for_last: int

    @property
    def so_far(self) -> int:
        """What it has had, in whole minutes."""
        return math.ceil(self.heat.so_far)

    @property
    def limit(self) -> int:
        """Its limit in whole minutes; 0 where there is none."""
        return math.floor(self.heat.limit or 0)

    @property
    def left(self) -> int:
        """What is left, in whole minutes."""
        return max(0, self.limit - self.so_far)

    @property
    def bears_rework(self) -> bool:
        """Whether all its coats once more stay within the limit."""
        return self.heat.limit is None or self.for_rework <= self.limit

    @property
    def bears_last(self) -> bool:
        """Whether its last coat once more stays within the limit."""
        return self.heat.limit is None or self.for_last <= self.limit

    @property
    def shown_code(self) -> str:
        """The code in groups."""
        return shown(self.code)


@read_only
def oven(unit: UnitOfWork, session: Session) -> OvenPage:
    """Return what is in the oven and what should go in next."""
    now = unit.now()
    shop = unit.shop(session)
    by_part = _waiting(unit, session)
    rows = {
        part.id: part for part in session.scalars(sa.select(Part).where(Part.id.in_(list(by_part))))
    }
    baked = had_pre_bake(session, list(by_part))
    waiting = [
        waiting_of(rows[part_id])
        for part_id in by_part
        if rows[part_id].stage is OVEN or (may_pre_bake(rows[part_id]) and part_id not in baked)
    ]
    heats = heat_of_parts(session, shop, [one.part_id for one in waiting], now)
    running = sa.select(OvenLoad.id).where(OvenLoad.closed_at.is_(None)).order_by(OvenLoad.id)
    closed = (
        sa.select(OvenLoad.id)
        .where(OvenLoad.closed_at.is_not(None))
        .order_by(OvenLoad.closed_at.desc())
        .limit(LAST_CLOSED)
    )
    proposed = propose(waiting, shop.stations.oven)
    return OvenPage(
        running=tuple(_load(session, one, now) for one in session.scalars(running)),
        proposals=tuple(
            _proposal(load, by_part, heats, powders_in(session, _coats(load, rows, waiting)))
            for load in proposed
        ),
        closed=tuple(_load(session, one, now) for one in session.scalars(closed)),
    )


@read_only
def heat_page(unit: UnitOfWork, session: Session, part_id: int) -> HeatPage:
    """Return every bake of a part and what is left; raise Unknown when there is no such part."""
    part = load_part(session, part_id)
    job = load_job(session, part.job_id)
    heat = heat_of_part(session, unit.shop(session), part_id, unit.now())
    again = [Baked(one.cure_c, one.minutes) for one in read_work(part.work).cures]
    return HeatPage(
        part_id,
        job.code,
        part.number,
        part.tag or "",
        part.label,
        heat,
        math.ceil(heat.after(*again)),
        math.ceil(heat.after(*again[-1:])),
    )


def _waiting(unit: UnitOfWork, session: Session) -> dict[int, Group]:
    """Return the parts that wait for the oven with their groups: coated ones, then bare ones."""
    groups = groups_in(session)
    order = wanted_order(session)
    found: dict[int, Group] = {}
    for stage in (OVEN, EACH_COAT[0]):
        here = [
            group
            for group in groups.get(stage, ())
            if group.state is JobState.IN_WORK and not any(part.where for part in group.parts)
        ]
        here.sort(key=in_order(order, stage))
        found |= {part.id: group for group in here for part in group.parts}
    return found


def _coats(load: Load, rows: Mapping[int, Part], waiting: Sequence[Waiting]) -> list[CardCoat]:
    own = [one for one in waiting if one.part_id in load.part_ids]
    return coats_due([rows[one.part_id] for one in own], own)


def _proposal(
    load: Load,
    by_part: Mapping[int, Group],
    heats: Mapping[int, PartHeat],
    powders: tuple[PowderInLoad, ...],
) -> Proposal:
    bake = Baked(load.set_point_c, load.minutes)
    return Proposal(
        load.bake,
        load.part_ids,
        load.set_point_c,
        load.minutes,
        max(1, round(load.share * 100)),
        tuple(dict.fromkeys(by_part[part_id] for part_id in load.part_ids)),
        heat_lines([heats[part_id] for part_id in load.part_ids], bake),
        powders,
    )


def heat_lines(heats: Sequence[PartHeat], bake: Baked) -> tuple[HeatLine, ...]:
    """Return the parts that have a limit, those with equal figures in one line."""
    alike: dict[tuple[int, int, int], list[PartHeat]] = {}
    for one in heats:
        if one.limit is not None:
            figures = (math.ceil(one.so_far), math.ceil(one.after(bake)), math.floor(one.limit))
            alike.setdefault(figures, []).append(one)
    return tuple(
        HeatLine(tuple(one.tag for one in parts), tuple(one.part_id for one in parts), *figures)
        for figures, parts in alike.items()
    )


def _load(session: Session, load_id: int, now: datetime) -> LoadView:
    load = session.get(OvenLoad, load_id)
    assert load is not None  # its id was just read in the same snapshot
    ends = load.started_at + timedelta(minutes=load.minutes)
    query = (
        sa.select(Part.id, Job.code, Part.number, Part.tag, Part.label, OvenLoadPart.coat)
        .join(OvenLoadPart, OvenLoadPart.part_id == Part.id)
        .join(Job, Job.id == Part.job_id)
        .where(OvenLoadPart.load_id == load_id, OvenLoadPart.out_at.is_(None))
        .order_by(Job.id, Part.number)
    )
    return LoadView(
        id=load.id,
        bake=load.kind,
        set_point_c=load.set_point_c,
        minutes=load.minutes,
        started_at=load.started_at,
        ends_at=ends,
        closed_at=load.closed_at,
        minutes_left=max(0, -int((now - ends).total_seconds() // 60)),
        real_min=_whole_min(load, now),
        forgotten=load.closed_at is None and now - ends > FORGOTTEN,
        parts=tuple(
            BatchPart(one, code, number, tag or "", label, coat=coat)
            for one, code, number, tag, label, coat in session.execute(query).all()
        ),
        batches=batches_in(session, [load_id]).get(load_id, ()),
    )


def _whole_min(load: OvenLoad, now: datetime) -> int:
    if load.baked_min is not None:
        return load.baked_min
    return int(((load.closed_at or now) - load.started_at).total_seconds() // 60)
