"""Parts move through the floor: by scan (station first, then any number of tags) or by tap."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message, joined
from portal.orders.kernel.checks import CheckOpen
from portal.orders.kernel.errors import Already, Overtaken, Refused, Unknown
from portal.orders.kernel.job_lock import load_part
from portal.orders.kernel.transitions import move_part, plan_of_row, undo
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.kernel.work_card import nevers_at
from portal.orders.production.bare_metal import check_fresh
from portal.orders.production.new_finish import new_finish
from portal.orders.production.oven import in_open_load, out_of_open_load
from portal.orders.production.oven_rules import refuse_rework
from portal.orders.production.part_heat import had_pre_bake, heat_of_part
from portal.orders.production.stock import powder_back, powder_used
from portal.shop.codes import shown
from portal.shop.faults import Fault, coats_kept
from portal.shop.route import EACH_COAT, OVEN, Fact, PartStage, next_stage
from portal.shop.scans import Kind, read_scan
from portal.shop.scheduling.stations import read_work
from portal.shop.states import RunState
from portal.store.floor import StripRun, StripRunPart
from portal.store.jobs import Job, Part
from portal.store.moves import Move

MOST_AT_ONCE = 100
LONGEST_REASON = 300
# the pre-bake drives gas out of the metal: afterwards it would come through the powder
NO_PRE_BAKE = {
    EACH_COAT[0]: Message("Pre-bake it before the first coat."),
    OVEN: Message("No pre-bake is recorded. Gas from the metal can blister this coat."),
}


@dataclass(frozen=True, slots=True)
class Moved:
    """One part after a scan or a tap: where it was, where it is, and a sentence to show.

    `already` when the same scan had counted before or the part stood there; `weigh` when its powder
    is below zero by calculation.
    """

    part_id: int
    code: str
    number: int
    tag: str
    label: Message
    was: PartStage
    now: PartStage
    says: Message
    already: bool = False
    weigh: Message | None = None


@transactional
def scan_part(
    unit: UnitOfWork,
    session: Session,
    typed: str,
    station: PartStage,
    *,
    scan_id: str | None,
    who: int | None,
    ago: timedelta = timedelta(),
) -> Moved:
    """Move the part whose tag was scanned to `station`. The same scan counts once.

    `ago` is how long a phone without a network has kept the scan: what was coated in time stays
    coated in time.
    """
    part = part_by_scan(session, typed)
    counted = _counted(session, part, scan_id)
    if counted is not None:
        return counted
    try:
        return _move(unit, session, part, station, who=who, scan_id=scan_id, ago=ago)
    except Already:
        return _moved(session, part, part.stage, already=True)
    except CheckOpen as refusal:
        why = Message("{name}: {why}", name=_name(part), why=refusal.sentence)
        raise CheckOpen(why, kind=refusal.kind, part_id=part.id) from None
    except Refused as refusal:
        # whoever has scanned four tags in a row must hear which one it was
        raise Refused(Message("{name}: {why}", name=_name(part), why=refusal.sentence)) from None


@transactional
def move_on(
    unit: UnitOfWork, session: Session, part_ids: Sequence[int], *, to: PartStage, who: int | None
) -> tuple[Moved, ...]:
    """Move several parts to their next station in one go: all of them, or none."""
    if not 0 < len(part_ids) <= MOST_AT_ONCE:
        raise Refused(Message("Choose the parts to move."))

    # always in the same order, so that two people moving the same parts can't wait in a ring
    moved = []
    for part_id in sorted(set(part_ids)):
        part = load_part(session, part_id)
        moved.append(_move(unit, session, part, to, who=who, scan_id=None))
    return tuple(moved)


@transactional
def take_back(
    unit: UnitOfWork, session: Session, moved: Mapping[int, PartStage], *, who: int | None
) -> tuple[Moved, ...]:
    """Undo the move that brought each part to its stage, within `UNDO_FOR`; itself an event.

    A part that somebody else has moved on since stays where it is, and so do the others.
    """
    if not moved:
        raise Refused(Message("There is nothing to undo."))

    back = []
    for part_id in sorted(moved):
        part = load_part(session, part_id)
        was = part.stage
        if was is not moved[part_id]:
            raise Overtaken(Message("Someone else has moved this part since then."))
        now = undo(session, part_id, at=unit.now(), who=who)
        if now.uses_powder and now.is_before(was):
            powder_back(session, part, at=unit.now(), who=who)
        back.append(_moved(session, part, was))
    return tuple(back)


@transactional
def rework(
    unit: UnitOfWork,
    session: Session,
    part_id: int,
    fault: Fault,
    words: str = "",
    *,
    who: int | None,
) -> Moved:
    """Send a part back to where its fault is put right; `words` say more to the next person."""
    text = " ".join(words.split())
    if fault is Fault.OTHER and not text:
        raise Refused(
            Message("Enter what is wrong with it, so the next person knows."), key="words"
        )
    if len(text) > LONGEST_REASON:
        raise Refused(Message("Use at most {most} characters.", most=LONGEST_REASON), key="words")

    part = load_part(session, part_id)
    was = part.stage
    target = fault.target(plan_of_row(part))
    cures = read_work(part.work).cures[coats_kept(was, part.coats_done, target) :]
    refuse_rework(
        heat_of_part(session, unit.shop(session), part_id, unit.now()),
        [cure.schedule for cure in cures],
    )
    out_of_open_load(session, part_id, at=unit.now())
    move_part(session, part_id, fault=fault, at=unit.now(), who=who, note=text)
    return _moved(session, part, was)


def part_by_scan(session: Session, typed: str) -> Part:
    """Return the part that a durable tag or a paper tag names."""
    scan = read_scan(typed)
    part = None
    if scan.kind is Kind.TAG:
        part = session.scalar(sa.select(Part).where(Part.tag == scan.candidates[0]))
    elif scan.part:
        part = session.scalar(
            sa.select(Part)
            .join(Job, Job.id == Part.job_id)
            .where(Job.code.in_(scan.candidates), Part.number == scan.part)
        )
    if part is None and scan.kind is Kind.MISTYPED:
        raise Refused(
            Message("There is a typing mistake in {typed}. Scan the tag again.", typed=typed[:20])
        )
    if part is None:
        raise Unknown(Message("No part has the tag “{typed}”.", typed=typed[:20]))
    return part


def _move(
    unit: UnitOfWork,
    session: Session,
    part: Part,
    to: PartStage,
    *,
    who: int | None,
    scan_id: str | None,
    ago: timedelta = timedelta(),
) -> Moved:
    was = part.stage
    _check_not_blocked(session, part, to)
    check_fresh(unit, session, part, to, at=unit.now() - ago)
    move_part(session, part.id, to=to, at=unit.now(), who=who, scan_id=scan_id)
    weigh = None
    if was.uses_powder and was.is_before(to):
        weigh = powder_used(session, part, at=unit.now(), who=who)
    done = _moved(session, part, was)
    if weigh is None:
        return done
    says = joined([done.says, weigh])
    return replace(done, says=says, weigh=weigh)


def _check_not_blocked(session: Session, part: Part, to: PartStage) -> None:
    """A part that is away, in the oven, or not inspected can't simply be moved on."""
    following = next_stage(part.stage, plan_of_row(part), part.coats_done)
    if part.stage.may_be_reworked and to.row.redo and to.is_before(part.stage) and to != following:
        # a phone may send its scan when others have moved the part on; rework names a fault
        raise Refused(
            Message(
                "Part {part} is already at “{stage}”. To send it back to “{to}”, use Rework "
                "and choose what is wrong.",
                part=part.number,
                stage=part.stage,
                to=to,
            )
        )
    if part.stage.leaves_the_house:
        away = session.scalar(
            sa.select(StripRun.id)
            .join(StripRunPart, StripRunPart.run_id == StripRun.id)
            .where(StripRunPart.part_id == part.id, StripRun.state != RunState.BACK)
        )
        if away is not None and not _counted_back(session, away, part.id):
            raise Refused(
                Message(
                    "Part {part} is away in strip run {run}. Count it back in there.",
                    part=part.number,
                    run=away,
                )
            )
    load = session.scalar(in_open_load(part.id))
    if load is not None:
        raise Refused(
            Message(
                "Part {part} is in oven load {load}. Close the load first.",
                part=part.number,
                load=load,
            )
        )
    if part.stage.is_batch:
        # the record of the loads is what proves a cure
        raise Refused(Message("Put part {part} in an oven load first.", part=part.number))
    if part.stage.is_gate:
        raise Refused(Message("Inspect part {part} first.", part=part.number))


def _counted_back(session: Session, run_id: int, part_id: int) -> bool:
    line = session.get(StripRunPart, (run_id, part_id))
    return line is not None and line.counted_back


def _counted(session: Session, part: Part, scan_id: str | None) -> Moved | None:
    """Return the answer to a scan that has counted already."""
    if scan_id is None:
        return None
    earlier = session.scalar(sa.select(Move).where(Move.scan_id == scan_id))
    if earlier is None:
        return None
    return _moved(session, part, PartStage(str(earlier.from_)), already=True)


# built once: building a statement costs more than running it
_CODE = sa.select(Job.code).where(Job.id == sa.bindparam("job_id"))


def _moved(session: Session, part: Part, was: PartStage, *, already: bool = False) -> Moved:
    code = session.scalar(_CODE, {"job_id": part.job_id}) or ""
    name = _name(part)
    if already:
        says = _is_there(part, name, code)
    else:
        notices = (*new_finish(session, part), *_without_pre_bake(session, part))
        says = joined([_arrived(part, name, code, was), *notices])
    return Moved(
        part.id, code, part.number, part.tag or "", part.label, was, part.stage, says, already
    )


def _is_there(part: Part, name: Message, code: str) -> Message:
    """Return where a part is already; whoever refits it hears where it sits."""
    said = {"name": name, "code": shown(code), "stage": part.stage}
    if part.corner and part.stage.tells(Fact.CORNER):
        return Message(
            "{name} of {code} is already at “{stage}”. It sits: {corner}.",
            **said,
            corner=part.corner,
        )
    return Message("{name} of {code} is already at “{stage}”.", **said)


def _arrived(part: Part, name: Message, code: str, was: PartStage) -> Message:
    """Return where a part went, with what must never be done to it there."""
    said = {"name": name, "code": shown(code), "was": was, "now": part.stage}
    never = nevers_at(part.stage, part.work)
    if never:
        return Message("{name} of {code}: {was} → {now}. Never: {never}.", **said, never=never)
    if part.corner and part.stage.tells(Fact.CORNER):
        corner = part.corner
        return Message("{name} of {code}: {was} → {now}. It sits: {corner}.", **said, corner=corner)
    return Message("{name} of {code}: {was} → {now}.", **said)


def _without_pre_bake(session: Session, part: Part) -> list[Message]:
    """Return what to say of a part that the order wants pre-baked and that wasn't."""
    if part.coats_done or read_work(part.work).pre_bake is None:
        return []
    if part.stage not in NO_PRE_BAKE or had_pre_bake(session, [part.id]):
        return []
    return [NO_PRE_BAKE[part.stage]]


def _name(part: Part) -> Message:
    return (
        Message("Tag {tag}", tag=part.tag) if part.tag else Message("Part {part}", part=part.number)
    )
