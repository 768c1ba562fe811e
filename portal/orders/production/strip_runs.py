"""Strip runs: a batch of tags goes to the outside tank, and every tag is counted back in."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.checks import CheckOpen, refuse_if_open
from portal.orders.kernel.errors import Already, Overtaken, Refused, Unknown
from portal.orders.kernel.job_lock import record_event
from portal.orders.kernel.progress_letters import letter_came_back, letters_on_their_way
from portal.orders.kernel.transitions import move_part, plan_of_row
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.kernel.work_card import nevers_at
from portal.orders.production.floor import part_by_scan
from portal.shop.codes import shown
from portal.shop.route import OUTSIDE, PartStage, next_stage
from portal.shop.states import Arrival, RunState
from portal.shop.verbs import EventVerb
from portal.store.floor import StripRun, StripRunPart
from portal.store.jobs import Job, Part

LONGEST_AWAY = timedelta(days=60)
MISSING = Message("Missing from strip run {run}: tag {tags}", run="", tags="")


@dataclass(frozen=True, slots=True)
class Missing:
    """A tag that went out and did not come back."""

    part_id: int
    code: str
    number: int
    tag: str
    label: Message


@dataclass(frozen=True, slots=True)
class Added:
    """A tag that a run took in, or counted back, and how the run stands now."""

    part_id: int
    code: str
    number: int
    tag: str
    says: Message
    already: bool = False


@transactional
def open_run(
    _unit: UnitOfWork, session: Session, leaves_on: date, back_on: date, *, who: int | None
) -> int:
    """Open a run for gathering; return its number. Its first tag names who gathers."""
    del who
    if back_on < leaves_on or back_on - leaves_on > LONGEST_AWAY:
        raise Refused(
            Message(
                "The run must come back after it leaves, within {days} days.",
                days=LONGEST_AWAY.days,
            ),
            key="back_on",
        )

    run = StripRun(leaves_on=leaves_on, back_on=back_on, state=RunState.GATHERING)
    session.add(run)
    session.flush()
    return run.id


@transactional
def gather(
    unit: UnitOfWork, session: Session, run_id: int, typed: str, *, who: int | None
) -> Added:
    """Put the part whose tag was scanned into a run that is being gathered."""
    run = _run(session, run_id, RunState.GATHERING)
    part = part_by_scan(session, typed)
    code = _code(session, part)
    if session.get(StripRunPart, (run.id, part.id)) is not None:
        return _added(part, code, Message("Already in this run."), already=True)
    _may_go(session, part)
    refuse_if_open(session, part, OUTSIDE)
    if part.stage is not OUTSIDE:
        move_part(session, part.id, to=OUTSIDE, at=unit.now(), who=who)
    session.add(StripRunPart(run_id=run.id, part_id=part.id))
    _note(unit, session, part, EventVerb.RUN_IN, run.id, who)
    never = nevers_at(OUTSIDE, part.work)
    if never:
        return _added(part, code, Message("Added to the run. Never: {never}.", never=never))
    return _added(part, code, Message("Added to the run."))


@transactional
def take_out(
    unit: UnitOfWork, session: Session, run_id: int, part_id: int, *, who: int | None
) -> None:
    """Take a part out of a run that is still being gathered."""
    run = _run(session, run_id, RunState.GATHERING)
    line = session.get(StripRunPart, (run.id, part_id))
    part = session.get(Part, part_id)
    if line is None or part is None:
        raise Unknown(Message("That part is not in this run."))
    session.delete(line)
    _note(unit, session, part, EventVerb.RUN_OUT, run.id, who)


@transactional
def send(unit: UnitOfWork, session: Session, run_id: int, *, who: int | None) -> int:
    """Send the run away; return how many parts went."""
    run = _run(session, run_id, RunState.GATHERING)
    parts = _parts(session, run.id)
    if not parts:
        raise Refused(Message("This run is empty. Scan a tag to add its part first."))
    for part, _ in parts:
        refuse_if_open(session, part, OUTSIDE)
    _turn(session, run, RunState.AWAY, sent_at=unit.now())
    for part, _ in parts:
        _note(unit, session, part, EventVerb.RUN_SENT, run.id, who)
    letters_on_their_way(unit, session, run, [part for part, _ in parts])
    return len(parts)


@transactional
def count_back(
    unit: UnitOfWork, session: Session, run_id: int, typed: str, *, who: int | None
) -> Added:
    """Count one tag back in; it goes on unless a test is open. The last one closes the run."""
    run = _run(session, run_id, RunState.AWAY)
    part = part_by_scan(session, typed)
    code = _code(session, part)
    if part.arrived is Arrival.LOST:
        raise Refused(
            Message(
                "Part {part} was written off. Mark it as found on its job page.",
                part=part.number,
            )
        )
    line = session.get(StripRunPart, (run.id, part.id), with_for_update=True)
    if line is None:
        raise Refused(
            Message(
                "Part {part} of {code} was not in run {run} when it left.",
                part=part.number,
                code=shown(code),
                run=run.id,
            )
        )
    if line.counted_back:
        return _added(part, code, Message("Counted already."), already=True)
    line.counted_back = True
    session.flush()
    letter_came_back(unit, session, run, part.job_id, _parts(session, run.id))
    to = next_stage(OUTSIDE, plan_of_row(part), part.coats_done)
    waits = _stays(session, part, to)
    if waits is None:
        move_part(session, part.id, to=to, at=unit.now(), who=who, allow_while_waiting=True)
    if run.returned_at is not None:
        _flag_job(session, part.job_id, run.id)
    if all(counted or one.arrived is Arrival.LOST for one, counted in _parts(session, run.id)):
        _turn(session, run, RunState.BACK, returned_at=unit.now())
        whole = Message("Back. Next: {station}. Everything is counted.", station=to)
        return _added(part, code, waits or whole)
    if waits is not None:
        return _added(part, code, waits)
    return _added(part, code, Message("Back. Next: {station}.", station=to))


def _stays(session: Session, part: Part, to: PartStage | None) -> Message | None:
    """Return why a part that is back stays here for now: a test that comes before its next station.

    It is counted all the same; once the test is recorded it goes on by scan or tap.
    """
    try:
        if to is not None:
            refuse_if_open(session, part, to)
    except CheckOpen as refusal:
        return Message("Back. {why}", why=refusal.sentence)
    return None


@transactional
def close(
    unit: UnitOfWork, session: Session, run_id: int, *, who: int | None
) -> tuple[Missing, ...]:
    """End the count. What is missing is named, and its job is flagged for all to see.

    The run stays away for the missing ones, so that a tag found later can still be counted back.
    """
    run = _run(session, run_id, RunState.AWAY)
    missing = [
        part
        for part, counted in _parts(session, run.id)
        if not counted and part.arrived is not Arrival.LOST
    ]
    run.returned_at = unit.now()
    lines = []
    for part in missing:
        code = _code(session, part)
        lines.append(Missing(part.id, shown(code), part.number, part.tag or "", part.label))
        _note(unit, session, part, EventVerb.RUN_MISSING, run.id, who)
    for job_id in sorted({part.job_id for part in missing}):
        _flag_job(session, job_id, run.id)
    return tuple(lines)


def count_without(unit: UnitOfWork, session: Session, part: Part) -> None:
    """Let the run that is away go on without a part that was written off."""
    run = session.scalar(_open_run_of(part.id).with_for_update())
    if run is None:
        return
    if run.state is RunState.GATHERING:
        session.execute(sa.delete(StripRunPart).where(StripRunPart.part_id == part.id))
        return
    session.flush()
    _flag_job(session, part.job_id, run.id)
    if all(counted or one.arrived is Arrival.LOST for one, counted in _parts(session, run.id)):
        _turn(session, run, RunState.BACK, returned_at=unit.now())


def counted_when_found(session: Session, part: Part) -> None:
    """A part that was lost on a run and is found has come back from it."""
    lines = sa.update(StripRunPart).where(StripRunPart.part_id == part.id)
    session.execute(lines.values(counted_back=True))


def away_in(session: Session, part_ids: Sequence[int]) -> int | None:
    """Return the number of a run that is away with one of these parts, or None."""
    return session.scalar(
        sa.select(StripRun.id)
        .join(StripRunPart, StripRunPart.run_id == StripRun.id)
        .where(
            StripRunPart.part_id.in_(part_ids),
            StripRunPart.counted_back.is_(False),
            StripRun.state == RunState.AWAY,
        )
    )


def _open_run_of(part_id: int) -> sa.Select[StripRun]:
    return (
        sa.select(StripRun)
        .join(StripRunPart, StripRunPart.run_id == StripRun.id)
        .where(
            StripRunPart.part_id == part_id,
            StripRunPart.counted_back.is_(False),
            StripRun.state != RunState.BACK,
        )
    )


def _run(session: Session, run_id: int, must_be: RunState) -> StripRun:
    run = session.scalar(sa.select(StripRun).where(StripRun.id == run_id).with_for_update())
    if run is None:
        raise Unknown(Message("There is no strip run {run}.", run=run_id))
    if run.state is not must_be:
        refusal = Already if run.state is RunState.BACK else Refused
        sentences = {
            RunState.GATHERING: Message("Run {run} has not left yet.", run=run_id),
            RunState.AWAY: Message(
                "Run {run} has left. You can't add or take out parts.", run=run_id
            ),
            RunState.BACK: Message("Run {run} is back and closed.", run=run_id),
        }
        raise refusal(sentences[run.state])
    return run


def _turn(session: Session, run: StripRun, to: RunState, **times: object) -> None:
    done = session.execute(
        sa.update(StripRun)
        .where(StripRun.id == run.id, StripRun.state == run.state)
        .values(state=to, **times)
    )
    if getattr(done, "rowcount", 0) != 1:
        raise Overtaken(
            Message("Someone else has just changed this run. Check it before you go on.")
        )


def _parts(session: Session, run_id: int) -> Sequence[tuple[Part, bool]]:
    query = (
        sa.select(Part, StripRunPart.counted_back)
        .join(StripRunPart, StripRunPart.part_id == Part.id)
        .where(StripRunPart.run_id == run_id)
        .order_by(Part.job_id, Part.number)
    )
    return [(part, counted) for part, counted in session.execute(query).all()]


def _may_go(session: Session, part: Part) -> None:
    elsewhere = session.scalar(_open_run_of(part.id))
    if elsewhere is not None:
        raise Refused(Message("This part is in strip run {run} already.", run=elsewhere.id))
    if not part.needs_strip:
        raise Refused(Message("Part {part} doesn't need outside stripping.", part=part.number))
    if OUTSIDE.is_before(part.stage):
        raise Refused(
            Message(
                "Part {part} is at “{stage}”: it is already stripped.",
                part=part.number,
                stage=part.stage,
            )
        )


def _flag_job(session: Session, job_id: int, run_id: int) -> None:
    """Name on the job what is still missing from this run, or take that flag off."""
    tags = session.execute(
        sa.select(Part.tag, Part.number)
        .join(StripRunPart, StripRunPart.part_id == Part.id)
        .where(
            StripRunPart.run_id == run_id,
            Part.job_id == job_id,
            StripRunPart.counted_back.is_(False),
            Part.arrived != Arrival.LOST,
        )
        .order_by(Part.number)
    ).all()
    job = session.get_one(Job, job_id)
    if tags:
        listed = ", ".join(tag or str(number) for tag, number in tags)
        job.flag = Message(MISSING.msgid, run=run_id, tags=listed)
    elif _is_of_run(job.flag, run_id):
        # a flag that somebody raised for another reason stays
        job.flag = None


def _is_of_run(flag: Message | None, run_id: int) -> bool:
    return flag is not None and flag.msgid == MISSING.msgid and flag.values["run"] == run_id


def _note(
    unit: UnitOfWork, session: Session, part: Part, verb: EventVerb, run_id: int, who: int | None
) -> None:
    job = session.get(Job, part.job_id)
    assert job is not None  # a foreign key holds it
    record_event(session, job, verb, at=unit.now(), who=who, part_id=part.id, data={"run": run_id})


def _code(session: Session, part: Part) -> str:
    return session.scalar(sa.select(Job.code).where(Job.id == part.job_id)) or ""


def _added(part: Part, code: str, says: Message, *, already: bool = False) -> Added:
    return Added(part.id, code, part.number, part.tag or "", says, already)
