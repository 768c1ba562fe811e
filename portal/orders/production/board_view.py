"""The floor's boards: stations from left to right, sets together, by priority.

Colour, film, cure and masks come from each part's card, so that nothing has to be opened.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.check_kinds import CheckKind
from portal.craft.never import Never, told_at
from portal.orders.kernel.checks import closed_before, kinds_anew, stopping
from portal.orders.kernel.job_lock import NOT_WORKED_ON
from portal.orders.kernel.reworks import Reworked, last_reworks
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.kernel.work_card import Card, PartPaper, read_paper
from portal.orders.planning.forecasting import wanted_order
from portal.orders.production.bare_metal import bare_parts, waits_bare
from portal.orders.production.groups import Column, FloorBag, FloorPart, Group, SentBack
from portal.orders.production.part_heat import had_pre_bake
from portal.shop.faults import HOW
from portal.shop.moves import IN_HOUSE
from portal.shop.route import EACH_COAT, ON_THE_FLOOR, Fact, PartPlan, PartStage, next_stage
from portal.shop.states import RunState
from portal.store.floor import OvenLoad, OvenLoadPart, StripRun, StripRunPart
from portal.store.jobs import Customer, HardwareBag, Job, JobForecast, Part


def floor(unit: UnitOfWork) -> tuple[Column, ...]:
    """Return every station with its groups; jobs that wait for an answer stand in their place."""
    with unit.read() as session:
        return columns_of(unit, session)


# built once: building a statement costs more than running it
_ON_FLOOR = (
    sa.select(
        Part.id,
        Part.number,
        Part.tag,
        Part.label,
        Part.set_key,
        Part.stage,
        Part.coats,
        Part.coats_done,
        Part.needs_strip,
        Part.needs_refit,
        Part.reworks,
        sa.cast(Part.work, sa.Text).label("work"),
        Part.stage_since,
        Part.corner,
        Job.id.label("job_id"),
        Job.code,
        Customer.name,
        Job.state,
        Job.flag,
        Job.rush,
        Job.promise_at,
        JobForecast.safe_at,
    )
    .join(Job, Job.id == Part.job_id)
    .join(Job.customer)
    .outerjoin(Job.forecast)
    .where(
        Job.state.in_(IN_HOUSE),
        Part.arrived.not_in(NOT_WORKED_ON),
        Part.stage.not_in(sa.bindparam("but", expanding=True)),
    )
    .order_by(Part.job_id, Part.number)
)


def columns_of(unit: UnitOfWork, session: Session) -> tuple[Column, ...]:
    """Return what `floor` does, in the session that is open."""
    groups = groups_in(session, PartStage.EXPECTED)
    for stage in ON_THE_FLOOR:
        groups[stage] = _with_bare(unit, session, groups.get(stage, []))
        if stage.tells(Fact.BACK):
            groups[stage] = _with_bags(session, groups[stage])
    order = wanted_order(session)
    return tuple(
        Column(stage, tuple(sorted(groups.get(stage, ()), key=in_order(order, stage))))
        for stage in ON_THE_FLOOR
    )


def groups_in(session: Session, *but: PartStage) -> dict[PartStage, list[Group]]:
    """Return the groups on the floor by station; `but` leaves stages out."""
    rows = session.execute(_ON_FLOOR, {"but": list(but)}).all()
    places = open_places(session)
    reasons = last_reworks(session, [row.id for row in rows if row.reworks])
    pre_baked = had_pre_bake(session, [row.id for row in rows if row.stage is EACH_COAT[0]])
    papers = {row.id: read_paper(row.work) for row in rows}
    tests = stopping(session, {row.id: _checks(session, row, papers[row.id]) for row in rows})
    sizes: dict[tuple[int, str], int] = {}
    grouped: dict[tuple[Any, ...], list[Any]] = {}
    for row in rows:
        sizes[row.job_id, row.set_key] = sizes.get((row.job_id, row.set_key), 0) + 1
        key = (row.job_id, row.set_key, row.stage, row.coats_done, places.get(row.id, ""))
        grouped.setdefault(key, []).append(row)
    found: dict[PartStage, list[Group]] = {}
    for members in grouped.values():
        group = _group(members, papers, places, reasons, sizes, pre_baked, tests)
        found.setdefault(group.stage, []).append(group)
    return found


def _with_bare(unit: UnitOfWork, session: Session, groups: list[Group]) -> list[Group]:
    """Return the groups of a station with how long their parts are bare."""
    waiting = {
        part.id: group.card.rusts
        for group in groups
        if waits_bare(group.stage, group.coat_number - 1)
        for part in group.parts
    }
    bare = bare_parts(unit, session, waiting)
    if not bare:
        return groups
    return [
        replace(one, parts=tuple(replace(part, bare=bare.get(part.id)) for part in one.parts))
        if any(part_id in bare for part_id in one.ids)
        else one
        for one in groups
    ]


# built once: building a statement costs more than running it
_BAGS = (
    sa.select(
        *(HardwareBag.job_id, HardwareBag.label, HardwareBag.contents),
        HardwareBag.finding_id.is_not(None).label("lost"),
    )
    .where(
        HardwareBag.job_id.in_(sa.bindparam("job_ids", expanding=True)),
        sa.or_(HardwareBag.present, HardwareBag.finding_id.is_not(None)),
    )
    .order_by(HardwareBag.id)
)


def _with_bags(session: Session, groups: list[Group]) -> list[Group]:
    """Return the groups of a station with the bags of their jobs."""
    found: dict[int, list[FloorBag]] = {}
    if groups:
        for row in session.execute(_BAGS, {"job_ids": [one.job_id for one in groups]}):
            bag = FloorBag(row.label, row.contents, bool(row.lost))
            found.setdefault(row.job_id, []).append(bag)
    return [replace(one, bags=tuple(found.get(one.job_id, ()))) for one in groups]


def _group(
    members: Sequence[Any],
    papers: Mapping[int, PartPaper],
    places: Mapping[int, str],
    reasons: Mapping[int, Reworked],
    sizes: Mapping[tuple[int, str], int],
    pre_baked: frozenset[int],
    tests: Mapping[int, Sequence[CheckKind]],
) -> Group:
    first = members[0]
    plan = PartPlan(strip=first.needs_strip, coats=first.coats, refit=first.needs_refit)
    to = next_stage(first.stage, plan, first.coats_done)
    return Group(
        job_id=first.job_id,
        code=first.code,
        name=first.name,
        state=first.state,
        flag=first.flag,
        promise_at=first.promise_at,
        forecast_at=first.safe_at,
        set_key=first.set_key,
        set_size=sizes[first.job_id, first.set_key],
        stage=first.stage,
        coat_number=first.coats_done + 1,
        coats=first.coats,
        next_stage=to,
        card=papers[first.id].card,
        parts=tuple(
            FloorPart(
                row.id,
                row.number,
                row.tag or "",
                row.label,
                row.reworks,
                places.get(row.id, ""),
                row.stage_since,
                damage=papers[row.id].card.damage or (),
                corner=row.corner,
                tests=tuple(one for one in tests.get(row.id, ()) if to and closed_before(one, to)),
                back=sent_back(reasons.get(row.id), row.stage),
            )
            for row in members
        ),
        pre_baked=all(row.id in pre_baked for row in members),
        nevers=_nevers(first.stage, [papers[row.id].card for row in members]),
        rush=first.rush,
    )


def _checks(session: Session, row: Any, paper: PartPaper) -> tuple[CheckKind, ...]:
    """Return the checks of a part; those of an order from before checks were kept, anew."""
    if paper.checks is not None:
        return paper.checks
    return kinds_anew(session, paper.card.damage, row.job_id, row.set_key)


def _nevers(stage: PartStage, cards: Sequence[Card]) -> tuple[Never, ...]:
    """Return what must never be done here to one of the parts, each once."""
    if not stage.tells(Fact.NEVER):
        return ()
    every = dict.fromkeys(card.nevers for card in cards if card.nevers)
    return tuple(dict.fromkeys(one for own in every for one in told_at(stage.value, own)))


# built once: building a statement costs more than running it
_IN_RUNS = (
    sa.select(StripRunPart.part_id, StripRun.id)
    .join(StripRun, StripRun.id == StripRunPart.run_id)
    .where(StripRun.state != RunState.BACK, StripRunPart.counted_back.is_(False))
)
_IN_LOADS = (
    sa.select(OvenLoadPart.part_id, OvenLoad.id)
    .join(OvenLoad, OvenLoad.id == OvenLoadPart.load_id)
    .where(OvenLoad.closed_at.is_(None), OvenLoadPart.out_at.is_(None))
)


def open_places(session: Session) -> dict[int, str]:
    """Which parts are in a strip run or in a running oven load, and in which."""
    found = {part_id: f"run-{run_id}" for part_id, run_id in session.execute(_IN_RUNS).all()}
    found |= {part_id: f"load-{load_id}" for part_id, load_id in session.execute(_IN_LOADS).all()}
    return found


def sent_back(rework: Reworked | None, stage: PartStage) -> SentBack | None:
    """Return what a part's last rework means where it stands: how is said there alone."""
    if rework is None:
        return None
    here = rework.fault is not None and rework.to is stage
    return SentBack(rework.says, HOW[rework.fault.redo] if here and rework.fault else None)


def in_order(order: Mapping[PartStage, Sequence[int]], stage: PartStage) -> Any:
    """Return the key that sorts groups as the forecast takes them at a station."""
    place = {job_id: n for n, job_id in enumerate(order.get(stage, ()))}
    # what the forecast does not know yet stands behind, by its promise
    return lambda group: (
        place.get(group.job_id, len(place)),
        group.promise_at,
        group.job_id,
        group.set_key,
        group.parts[0].number,
    )
