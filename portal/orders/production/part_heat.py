"""The heat of a part from its own oven loads, against the shop's limit or the maker's permission.

Every load counts for what it really was; one that is still open for the time so far, or what is
planned where that is more. A planned pre-bake that nobody recorded counts as done as soon as
something was cured.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.bakes import Bake
from portal.craft.declared import read_declared
from portal.craft.heat import REFERENCE_C, is_limited
from portal.craft.heat_sum import Baked, heat_sum
from portal.craft.messages import Message
from portal.craft.quantities import celsius
from portal.orders.production.heat_leave import HeatLeave, leaves_of
from portal.shop.scheduling.stations import read_work
from portal.shop.shop import Shop
from portal.store.floor import OvenLoad, OvenLoadPart
from portal.store.jobs import Job, Part


@dataclass(frozen=True, slots=True)
class OvenStay:
    """One stay of a part in the oven: °C, real minutes at it, and what it adds at 200 °C.

    `load` is None for a planned pre-bake that has no record.
    """

    load: int | None
    bake: Bake
    set_point_c: int
    minutes: float
    adds: float
    at: datetime | None = None
    running: bool = False


@dataclass(frozen=True, slots=True)
class PartHeat:
    """What one part has had, in minutes at 200 °C.

    `limit` is the shop's, or what the maker allowed; None where heat does the part no harm.
    """

    part_id: int
    tag: str
    number: int
    mass_kg: float
    so_far: float
    limit: float | None
    shop_limit: float
    stays: tuple[OvenStay, ...] = ()
    leave: HeatLeave | None = None

    @property
    def left(self) -> float | None:
        """What may still be added; never below 0."""
        return None if self.limit is None else max(0.0, round(self.limit - self.so_far, 1))

    def after(self, *more: Baked) -> float:
        """Return the sum with further bakes."""
        done = [Baked(one.set_point_c, one.minutes) for one in self.stays]
        return heat_sum([*done, *more], self.mass_kg)

    def bears(self, *more: Baked) -> bool:
        """Whether further bakes stay within the limit."""
        return self.limit is None or self.after(*more) <= self.limit


def heat_of_parts(
    session: Session, shop: Shop, part_ids: Iterable[int], now: datetime
) -> dict[int, PartHeat]:
    """Return the heat of each part by its id."""
    rows = session.execute(
        sa.select(Part.id, Part.tag, Part.number, Part.set_key, Part.work, Part.job_id).where(
            Part.id.in_(sorted(set(part_ids)))
        )
    ).all()
    ids = [row.id for row in rows]
    stays, leaves = _stays(session, ids, now), leaves_of(session, ids)
    limited = _limited_sets(session, {row.job_id for row in rows})
    return {
        row.id: _of_part(
            row,
            stays.get(row.id, []),
            leaves.get(row.id),
            shop.practice.heat_limit_min_at_200,
            # a set that the order has lost sight of counts as aluminium
            limited=limited.get((row.job_id, row.set_key), True),
        )
        for row in rows
    }


def heat_said(heat: PartHeat) -> tuple[Message, ...]:
    """Return what a part's customer is told of its heat; nothing where no limit counts."""
    if heat.limit is None or not heat.stays:
        return ()
    at = celsius(REFERENCE_C)
    said = Message(
        "In the oven so far: as much heat as {so_far} minutes at {heat}. Our limit is {limit}.",
        so_far=math.ceil(heat.so_far),
        heat=at,
        limit=math.floor(heat.shop_limit),
    )
    if heat.leave is None:
        return (said,)
    return (
        said,
        Message(
            "The maker allows up to {minutes} minutes at {heat}: {maker}.",
            minutes=math.floor(heat.leave.up_to),
            heat=at,
            maker=heat.leave.maker,
        ),
    )


def heat_of_part(session: Session, shop: Shop, part_id: int, now: datetime) -> PartHeat:
    """Return the heat of one part."""
    return heat_of_parts(session, shop, [part_id], now)[part_id]


# built once: building a statement costs more than running it
_PRE_BAKED = (
    sa.select(OvenLoadPart.part_id)
    .join(OvenLoad, OvenLoad.id == OvenLoadPart.load_id)
    .where(
        OvenLoadPart.part_id.in_(sa.bindparam("part_ids", expanding=True)),
        OvenLoad.kind == Bake.PRE_BAKE,
    )
)


def had_pre_bake(session: Session, part_ids: Sequence[int]) -> frozenset[int]:
    """Return the parts that were, or are, in a load for their pre-bake."""
    return frozenset(session.scalars(_PRE_BAKED, {"part_ids": list(part_ids)}))


def _of_part(
    row: Any, stays: list[OvenStay], leave: HeatLeave | None, shop_limit: float, *, limited: bool
) -> PartHeat:
    work = read_work(row.work)
    planned = work.pre_bake_schedule
    if planned and stays and all(one.bake is not Bake.PRE_BAKE for one in stays):
        stays = [OvenStay(None, Bake.PRE_BAKE, planned.set_point_c, planned.minutes, 0.0), *stays]
    limit = max(shop_limit, leave.up_to) if leave else shop_limit
    baked = [Baked(one.set_point_c, one.minutes) for one in stays]
    return PartHeat(
        part_id=row.id,
        tag=row.tag or "",
        number=row.number,
        mass_kg=work.mass_kg,
        so_far=heat_sum(baked, work.mass_kg),
        limit=limit if limited else None,
        shop_limit=shop_limit,
        stays=tuple(_with_sum(one, work.mass_kg) for one in stays),
        leave=leave,
    )


def _with_sum(stay: OvenStay, mass_kg: float) -> OvenStay:
    adds = heat_sum([Baked(stay.set_point_c, stay.minutes)], mass_kg)
    return OvenStay(
        stay.load, stay.bake, stay.set_point_c, stay.minutes, adds, stay.at, running=stay.running
    )


def _stays(session: Session, part_ids: Sequence[int], now: datetime) -> dict[int, list[OvenStay]]:
    query = (
        sa.select(
            OvenLoadPart.part_id,
            OvenLoadPart.out_at,
            OvenLoad.id,
            OvenLoad.kind,
            OvenLoad.set_point_c,
            OvenLoad.minutes,
            OvenLoad.baked_min,
            OvenLoad.started_at,
            OvenLoad.closed_at,
        )
        .join(OvenLoad, OvenLoad.id == OvenLoadPart.load_id)
        .where(OvenLoadPart.part_id.in_(part_ids))
        .order_by(OvenLoad.id)
    )
    found: dict[int, list[OvenStay]] = {}
    for row in session.execute(query):
        running = row.closed_at is None and row.out_at is None
        found.setdefault(row.part_id, []).append(
            OvenStay(
                row.id,
                row.kind,
                row.set_point_c,
                real_minutes(row, now),
                0.0,
                row.started_at,
                running=running,
            )
        )
    return found


def real_minutes(row: Any, now: datetime) -> float:
    """Return how long a part of a load was at its temperature, in minutes."""
    if row.out_at is None and row.closed_at is not None and row.baked_min is not None:
        return float(row.baked_min)
    until = row.out_at or row.closed_at
    so_far: float = ((until or now) - row.started_at).total_seconds() / 60
    return max(0.0, so_far) if until else max(so_far, float(row.minutes))


def _limited_sets(session: Session, job_ids: Iterable[int]) -> Mapping[tuple[int, str], bool]:
    query = sa.select(Job.id, Job.declared).where(Job.id.in_(sorted(job_ids)))
    return {
        (job_id, one.key): is_limited(one)
        for job_id, declared in session.execute(query)
        for one in read_declared(declared).sets
    }
