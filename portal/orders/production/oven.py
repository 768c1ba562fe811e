"""Oven loads: started with set point and time, closed, and kept as the record of who lay in it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.bakes import Bake
from portal.craft.heat_sum import Baked
from portal.craft.messages import Message
from portal.orders.kernel.checks import refuse_if_open
from portal.orders.kernel.errors import Already, Refused, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import load_job, load_part, record_event
from portal.orders.kernel.transitions import move_part
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.kernel.work_card import CardCoat, coat_of
from portal.orders.production.oven_rules import (
    check_oven,
    check_yes,
    closing_remark,
    remarks_on,
)
from portal.orders.production.part_heat import heat_of_parts
from portal.orders.production.powder_batches import note_batches
from portal.shop.codes import shown
from portal.shop.route import EACH_COAT, OVEN
from portal.shop.scheduling.oven_loads import FULL, Waiting, cures_agree, load_of
from portal.shop.scheduling.stations import Oven, read_work
from portal.shop.verbs import EventVerb
from portal.store.floor import OvenLoad, OvenLoadPart
from portal.store.jobs import Job, Part

# a second set of hands closes a load a little before the clock says so
EARLY = timedelta(minutes=1)


@transactional
@idempotent("start_load", answer="load")
def start_load(  # noqa: PLR0913  # what a load is made of, all named
    unit: UnitOfWork,
    session: Session,
    part_ids: Sequence[int],
    *,
    set_point_c: int,
    minutes: int,
    said_yes: Collection[int] = (),
    batches: Mapping[str, str] | None = None,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> int:
    """Start a load with these parts; return its number.

    Refused when a part is not waiting for the oven, when the bakes do not go together, when it
    is too full, when the load is outside what a powder bears, or too much heat for a part.
    `said_yes` are the parts that go in though the load is longer or hotter than planned for them,
    `batches` the batch of each powder by its code.
    """
    wanted = sorted(set(part_ids))
    if not wanted:
        raise Refused(Message("Choose the parts that go in the oven."), key="parts")

    shop = unit.shop(session)
    oven, bake = shop.stations.oven, Baked(set_point_c, minutes)
    check_oven(oven, bake)
    parts = [_waiting_part(session, part_id) for part_id in wanted]
    together = _check_together([waiting_of(part) for part in parts], oven)
    heats = heat_of_parts(session, shop, wanted, unit.now())
    remarks = remarks_on(together, heats, bake, apart_c=oven.apart_c)
    check_yes(remarks, said_yes)
    load = OvenLoad(
        set_point_c=set_point_c,
        minutes=minutes,
        started_at=unit.now(),
        person_id=who,
        kind=load_of(together, oven).bake,
    )
    session.add(load)
    session.flush()
    for part, one in zip(parts, together, strict=True):
        coat = 0 if one.pre_bake else part.coats_done + 1
        session.add(OvenLoadPart(load_id=load.id, part_id=part.id, coat=coat))
    note_batches(session, load.id, coats_due(parts, together), batches or {})
    for remark in remarks:
        _note(unit, session, remark.part_id, EventVerb.BAKED_DESPITE, remark.says, who=who)
    session.flush()
    return load.id


def coats_due(parts: Sequence[Part], waiting: Sequence[Waiting]) -> list[CardCoat]:
    """Return the coats that a load with these parts cures; a pre-bake cures none."""
    due = [
        coat_of(part.work, part.coats_done)
        for part, one in zip(parts, waiting, strict=True)
        if not one.pre_bake
    ]
    return [coat for coat in due if coat is not None]


@dataclass(frozen=True, slots=True)
class ClosedLoad:
    """How many parts were in a closed load, whether they went on, and what to check on which."""

    count: int
    moved: bool
    remarks: tuple[Message, ...] = ()


@transactional
def close_load(
    unit: UnitOfWork,
    session: Session,
    load_id: int,
    *,
    early_because: str = "",
    baked_min: int | None = None,
    who: int | None,
) -> ClosedLoad:
    """Close a load: every part in it goes on, but after a pre-bake.

    Early only with a reason. `baked_min` are the minutes at temperature when the parts came out
    before the load was closed here; without it the clock's time counts as their heat.
    """
    load = session.scalar(sa.select(OvenLoad).where(OvenLoad.id == load_id).with_for_update())
    if load is None:
        raise Unknown(Message("There is no oven load {load}.", load=load_id))
    if load.closed_at is not None:
        raise Already(Message("Load {load} is closed already.", load=load_id))
    now = unit.now()
    _check_baked_min(load, baked_min, now)
    real = timedelta(minutes=baked_min) if baked_min is not None else now - load.started_at
    left = timedelta(minutes=load.minutes) - real
    note = " ".join(early_because.split())[:300]
    if left > EARLY and not note:
        raise Refused(
            Message(
                "The load needs {minutes} more minutes. To close it now, give a reason.",
                minutes=-(-int(left.total_seconds()) // 60),
            ),
            key="early_because",
        )
    ids = _inside(session, load_id)
    load.closed_at, load.baked_min = now, baked_min
    session.flush()
    remarks = _remarks_on_closing(unit, session, load, ids, who=who)
    moves = load.kind is not Bake.PRE_BAKE
    for part_id in ids if moves else ():
        move_part(session, part_id, at=now, who=who, note=note, allow_while_waiting=True)
    return ClosedLoad(len(ids), moves, remarks)


def out_of_open_load(session: Session, part_id: int, *, at: datetime) -> None:
    """Take a part out of an oven load that is still running; its heat so far counts."""
    running = sa.select(OvenLoad.id).where(OvenLoad.closed_at.is_(None))
    session.execute(
        sa.update(OvenLoadPart)
        .where(
            OvenLoadPart.part_id == part_id,
            OvenLoadPart.load_id.in_(running),
            OvenLoadPart.out_at.is_(None),
        )
        .values(out_at=at)
        .execution_options(synchronize_session="fetch")
    )


def waiting_of(part: Part) -> Waiting:
    """Return what the loads are proposed from."""
    return Waiting(
        part_id=part.id,
        group=f"{part.job_id}-{part.set_key}",
        work=read_work(part.work),
        coat=part.coats_done,
        pre_bake=part.stage is not OVEN,
    )


def in_open_load(part_id: int) -> sa.Select[int]:
    """The statement that finds the running load of a part."""
    return (
        sa.select(OvenLoad.id)
        .join(OvenLoadPart, OvenLoadPart.load_id == OvenLoad.id)
        .where(
            OvenLoadPart.part_id == part_id,
            OvenLoadPart.out_at.is_(None),
            OvenLoad.closed_at.is_(None),
        )
    )


def may_pre_bake(part: Part) -> bool:
    """Whether a part waits for its first coat, and is to be baked before it."""
    first = part.stage is EACH_COAT[0] and not part.coats_done
    return first and read_work(part.work).pre_bake is not None


def _waiting_part(session: Session, part_id: int) -> Part:
    part = load_part(session, part_id, locked=True)
    code = shown(session.scalar(sa.select(Job.code).where(Job.id == part.job_id)) or "")
    if part.stage is not OVEN and not may_pre_bake(part):
        raise Refused(
            Message(
                "Part {part} of {code} is at “{stage}”, so it can't go in the oven.",
                part=part.number,
                code=code,
                stage=part.stage,
            ),
            key="parts",
        )
    load = session.scalar(in_open_load(part_id))
    if load is not None:
        raise Refused(
            Message(
                "Part {part} of {code} is in load {load} already.",
                part=part.number,
                code=code,
                load=load,
            ),
            key="parts",
        )
    refuse_if_open(session, part, OVEN)
    return part


def _check_together(together: Sequence[Waiting], oven: Oven) -> Sequence[Waiting]:
    if not cures_agree(together, oven):
        raise Refused(
            Message("These parts need different bakes. Put them in separate loads."), key="parts"
        )
    share = load_of(together, oven).share
    if share > FULL and len(together) > 1:
        raise Refused(
            Message(
                "These parts fill {percent} % of the oven. Leave some for the next load.",
                percent=round(share * 100),
            ),
            key="parts",
        )
    return together


def _check_baked_min(load: OvenLoad, baked_min: int | None, now: datetime) -> None:
    elapsed = (now - load.started_at).total_seconds() / 60
    if baked_min is not None and not 1 <= baked_min <= elapsed + 1:
        raise Refused(
            Message(
                "Enter how many minutes it was really at temperature: at most {most}.",
                most=int(elapsed),
            ),
            key="baked_min",
        )


def _inside(session: Session, load_id: int) -> Sequence[int]:
    return session.scalars(
        sa.select(OvenLoadPart.part_id)
        .where(OvenLoadPart.load_id == load_id, OvenLoadPart.out_at.is_(None))
        .order_by(OvenLoadPart.part_id)
    ).all()


def _remarks_on_closing(
    unit: UnitOfWork, session: Session, load: OvenLoad, ids: Sequence[int], *, who: int | None
) -> tuple[Message, ...]:
    """Write down, and return, which parts were baked too little or too much."""
    shop = unit.shop(session)
    heats = heat_of_parts(session, shop, ids, unit.now())
    found = []
    for part_id in ids:
        heat = heats[part_id]
        real = next(one for one in heat.stays if one.load == load.id)
        says = closing_remark(
            heat,
            waiting_of(load_part(session, part_id)).bake,
            Baked(load.set_point_c, real.minutes + EARLY.total_seconds() / 60),
            apart_c=shop.stations.oven.apart_c,
        )
        if says is not None:
            found.append(says)
            _note(unit, session, part_id, EventVerb.BAKED_OTHERWISE, says, who=who)
    return tuple(found)


def _note(
    unit: UnitOfWork,
    session: Session,
    part_id: int,
    verb: EventVerb,
    says: Message,
    *,
    who: int | None,
) -> None:
    part = load_part(session, part_id)
    job = load_job(session, part.job_id)
    record_event(session, job, verb, at=unit.now(), who=who, part_id=part_id, says=says)
