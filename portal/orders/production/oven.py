"""Oven loads: started with set point and time, closed, and kept as the record of who lay in it."""

from collections.abc import Sequence
from datetime import timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.quantities import celsius
from portal.orders.kernel.checks import refuse_if_open
from portal.orders.kernel.errors import Already, Refused, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import load_part
from portal.orders.kernel.transitions import move_part
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.codes import shown
from portal.shop.route import OVEN
from portal.shop.scheduling.oven_loads import FULL, Load, Waiting, cures_agree, load_of
from portal.shop.scheduling.stations import Oven, PartWork
from portal.store.floor import OvenLoad, OvenLoadPart
from portal.store.jobs import Job, Part

HOTTEST_C = 230  # above this no powder cures better and aluminium over-ages fast
LONGEST_MIN = 180
# a second set of hands closes a load a little before the clock says so
EARLY = timedelta(minutes=1)


@transactional
@idempotent("start_load", answer="load")
def start_load(
    unit: UnitOfWork,
    session: Session,
    part_ids: Sequence[int],
    *,
    set_point_c: int,
    minutes: int,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> int:
    """Start a load with these parts; return its number.

    Refused when a part is not waiting for the oven, when the cures do not go together, when it
    is too full, or when the set point or the time is below what a powder needs.
    """
    wanted = sorted(set(part_ids))
    if not wanted:
        raise Refused(Message("Choose the parts that go in the oven."), key="parts")

    oven = unit.shop(session).stations.oven
    parts = [_waiting_part(session, part_id) for part_id in wanted]
    _enough(load_of(_check_together(parts, oven), oven), set_point_c, minutes)
    load = OvenLoad(set_point_c=set_point_c, minutes=minutes, started_at=unit.now(), person_id=who)
    session.add(load)
    session.flush()
    for part in parts:
        session.add(OvenLoadPart(load_id=load.id, part_id=part.id, coat=part.coats_done + 1))
    session.flush()
    return load.id


@transactional
def close_load(
    unit: UnitOfWork, session: Session, load_id: int, *, early_because: str = "", who: int | None
) -> int:
    """Close a load: every part in it goes on; return how many. Early only with a reason."""
    load = session.scalar(sa.select(OvenLoad).where(OvenLoad.id == load_id).with_for_update())
    if load is None:
        raise Unknown(Message("There is no oven load {load}.", load=load_id))
    if load.closed_at is not None:
        raise Already(Message("Load {load} is closed already.", load=load_id))
    now = unit.now()
    left = load.started_at + timedelta(minutes=load.minutes) - now
    note = " ".join(early_because.split())[:300]
    if left > EARLY and not note:
        raise Refused(
            Message(
                "The load needs {minutes} more minutes. To close it now, give a reason.",
                minutes=-(-int(left.total_seconds()) // 60),
            ),
            key="early_because",
        )
    load.closed_at = now
    session.flush()
    ids = session.scalars(
        sa.select(OvenLoadPart.part_id)
        .where(OvenLoadPart.load_id == load_id)
        .order_by(OvenLoadPart.part_id)
    ).all()
    for part_id in ids:
        move_part(session, part_id, at=now, who=who, note=note, allow_while_waiting=True)
    return len(ids)


def waiting_of(part: Part) -> Waiting:
    """Return what the loads are proposed from."""
    return Waiting(
        part_id=part.id,
        group=f"{part.job_id}-{part.set_key}",
        work=PartWork.from_dict(part.work),
        coat=part.coats_done,
    )


def in_open_load(part_id: int) -> sa.Select[int]:
    """The statement that finds the running load of a part."""
    return (
        sa.select(OvenLoad.id)
        .join(OvenLoadPart, OvenLoadPart.load_id == OvenLoad.id)
        .where(OvenLoadPart.part_id == part_id, OvenLoad.closed_at.is_(None))
    )


def _waiting_part(session: Session, part_id: int) -> Part:
    part = load_part(session, part_id, locked=True)
    code = shown(session.scalar(sa.select(Job.code).where(Job.id == part.job_id)) or "")
    if part.stage is not OVEN:
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


def _check_together(parts: Sequence[Part], oven: Oven) -> list[Waiting]:
    together = [waiting_of(part) for part in parts]
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


def _enough(needed: Load, set_point_c: int, minutes: int) -> None:
    if not needed.set_point_c <= set_point_c <= HOTTEST_C:
        raise Refused(
            Message(
                "These powders need {needed}, but {hottest} is our limit.",
                needed=celsius(needed.set_point_c),
                hottest=celsius(HOTTEST_C),
            ),
            key="set_point_c",
        )
    if not needed.minutes <= minutes <= LONGEST_MIN:
        raise Refused(
            Message(
                "These powders need {needed} minutes at temperature, but {longest} is the limit.",
                needed=needed.minutes,
                longest=LONGEST_MIN,
            ),
            key="minutes",
        )
