"""Check-in: parts are checked, tagged and bagged, the job is received and started.

Each small action is saved at once and leaves an event, so that two people at one counter see each
other's work, and a dead battery loses nothing.
"""

from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message, joined
from portal.orders.counter.corners import corner_not_noted
from portal.orders.counter.job_parts import open_findings
from portal.orders.counter.waiting import CHOOSE_FIRST, open_colours
from portal.orders.kernel.checks import CheckOpen, stop_the_start, why_open
from portal.orders.kernel.errors import Already, Refused, Taken, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import (
    load_part,
    lock_job,
    not_now,
    parts_in_production,
    parts_of,
    parts_on_site,
    record_event,
    refuse_if_overtaken,
)
from portal.orders.kernel.notifications import letter_findings, letter_received
from portal.orders.kernel.transitions import move_job, move_part
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.codes import shown
from portal.shop.moves import JobState
from portal.shop.route import FIRST
from portal.shop.scans import tag_number
from portal.shop.states import Arrival
from portal.shop.verbs import EventVerb
from portal.store.jobs import Job, Part, Tag

LONGEST_STAMP = 60


@dataclass(frozen=True, slots=True)
class TagGiven:
    """Which part got the tag, and whether it had it already."""

    part_number: int
    tag: str
    already: bool = False
    left: int = 0


@transactional
def as_declared(
    unit: UnitOfWork, session: Session, job_id: int, *, set_key: str = "", who: int | None
) -> int:
    """Mark every unchecked part, of one set or of all, as declared; return how many."""
    return _mark_as_declared(unit, session, checkable(lock_job(session, job_id)), set_key, who=who)


def _mark_as_declared(
    unit: UnitOfWork, session: Session, job: Job, set_key: str, *, who: int | None
) -> int:
    fresh = [
        part
        for part in parts_of(session, job.id)
        if part.arrived is Arrival.UNCHECKED and set_key in ("", part.set_key)
    ]
    for part in fresh:
        part.arrived = Arrival.AS_DECLARED
        record_event(session, job, EventVerb.ARRIVED, at=unit.now(), who=who, part_id=part.id)
    return len(fresh)


@transactional
def look_again(unit: UnitOfWork, session: Session, part_id: int, *, who: int | None) -> None:
    """Withdraw "as declared" from a part, as long as work has not started."""
    part = load_part(session, part_id)
    job = checkable(lock_job(session, part.job_id))
    if job.state is JobState.IN_WORK:
        raise Refused(Message("Work has started. Report a finding instead."))
    if part.arrived is not Arrival.AS_DECLARED:
        raise Refused(Message("This part is not marked “As declared”."))
    part.arrived = Arrival.UNCHECKED
    record_event(session, job, EventVerb.REOPENED, at=unit.now(), who=who, part_id=part.id)


@transactional
def give_tag(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    typed: str,
    *,
    part_number: int = 0,
    who: int | None,
) -> TagGiven:
    """Give a tag to a part, or to the first part without one.

    A tag that is in use elsewhere is refused with its place; one that this job has already changes
    nothing.
    """
    number = tag_number(typed)
    if not number:
        raise Refused(
            Message(
                "“{typed}” is not a tag number. Scan the tag again or type its number.",
                typed=typed[:20],
            ),
            key="tag",
        )

    job = checkable(lock_job(session, job_id))
    parts = parts_on_site(parts_of(session, job_id))
    worn = next((p for p in parts if p.tag == number), None)
    if worn is not None and part_number in (0, worn.number):
        return TagGiven(worn.number, number, already=True, left=_untagged(parts))
    _free_or_refuse(session, number)
    part = _part_for_tag(parts, part_number)
    put_tag(session, job, part, number, unit=unit, who=who)
    return TagGiven(part.number, number, left=_untagged(parts))


@transactional
def take_tag_off(unit: UnitOfWork, session: Session, part_id: int, *, who: int | None) -> None:
    part = load_part(session, part_id)
    job = lock_job(session, part.job_id)
    if part.tag is None:
        raise Already(Message("This part has no tag."))
    free_tag(session, job, part, unit=unit, who=who)


def put_tag(
    session: Session, job: Job, part: Part, number: str, *, unit: UnitOfWork, who: int | None
) -> None:
    """Put a free tag on a part, inside another use case's transaction."""
    old, part.tag = part.tag, number
    record_event(
        session,
        job,
        EventVerb.TAG,
        at=unit.now(),
        who=who,
        part_id=part.id,
        note=number,
        data={"tag": number, "before": old},
    )


def free_tag(session: Session, job: Job, part: Part, *, unit: UnitOfWork, who: int | None) -> None:
    """Take the tag off a part, inside another use case's transaction."""
    record_event(
        session,
        job,
        EventVerb.UNTAG,
        at=unit.now(),
        who=who,
        part_id=part.id,
        note=part.tag or "",
        data={"tag": part.tag},
    )
    part.tag = None


@transactional
def note_stamps(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    stamps: dict[int, str],
    *,
    expected_event_id: int,
    who: int | None,
) -> None:
    """Save the identification stamp or cast date of parts, by their numbers.

    A wheel has to go back to the vehicle that it came from; the stamp identifies it.
    """
    job = checkable(lock_job(session, job_id))
    refuse_if_overtaken(session, job_id, expected_event_id)
    for part in parts_of(session, job_id):
        text = " ".join(stamps.get(part.number, part.stamp).split())
        if len(text) > LONGEST_STAMP:
            raise Refused(
                Message("Use at most {most} characters for a stamp.", most=LONGEST_STAMP),
                key=f"stamp-{part.number}",
            )
        if text != part.stamp:
            part.stamp = text
            record_event(
                session, job, EventVerb.STAMP, at=unit.now(), who=who, part_id=part.id, note=text
            )


@transactional
@idempotent("receive")
def receive(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    *,
    unchecked_as_declared: bool = False,
    expected_event_id: int,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> dict[str, bool]:
    """Receive the job: every part checked and tagged. Start work at once when nothing is open.

    `unchecked_as_declared`: what nobody has checked yet arrived as it was declared.
    Return `{"started": …}`. Refused with every reason that stands against it. A test that comes
    before all work keeps it from starting.
    """
    job = lock_job(session, job_id)
    refuse_if_overtaken(session, job_id, expected_event_id)
    if unchecked_as_declared:
        _mark_as_declared(unit, session, checkable(job), "", who=who)
    against = reasons_against_receiving(session, job_id)
    if against:
        raise Refused(joined(against))
    now = unit.now()
    move_job(session, job_id, EventVerb.RECEIVE, at=now, who=who)
    for part in parts_in_production(parts_of(session, job_id)):
        move_part(session, part.id, to=FIRST, at=now, who=who)
    letter_received(unit, session, job)
    asked = open_findings(session, job_id)
    if asked:
        letter_findings(unit, session, job, asked)
    waits = bool(asked or open_colours(session, job))
    tests = stop_the_start(session, parts_in_production(parts_of(session, job_id)))
    if waits:
        move_job(session, job_id, EventVerb.WAIT, at=now, who=who)
    elif not tests:
        move_job(session, job_id, EventVerb.START, at=now, who=who)
    return {"started": not waits and not tests}


@transactional
def start(unit: UnitOfWork, session: Session, job_id: int, *, who: int | None) -> None:
    """Start work on a received job; refused while an answer or a test is open."""
    job = lock_job(session, job_id)
    if open_colours(session, job):
        raise Refused(CHOOSE_FIRST)
    asked = len(open_findings(session, job_id))
    if asked:
        raise Refused(
            Message("Findings still waiting for the customer's answer: {count}.", count=asked)
        )
    for line in stop_the_start(session, parts_in_production(parts_of(session, job_id))):
        sentence = why_open(line.kind, line.number, line.record)
        raise CheckOpen(sentence, kind=line.kind, part_id=line.part_id)
    move_job(session, job_id, EventVerb.START, at=unit.now(), who=who)


def reasons_against_receiving(session: Session, job_id: int) -> list[Message]:
    """Return everything that must be done before the job can be received."""
    parts = parts_of(session, job_id)
    unseen = [str(p.number) for p in parts if p.arrived is Arrival.UNCHECKED]
    untagged = [str(p.number) for p in parts_on_site(parts) if p.tag is None]
    against = []
    if not parts_on_site(parts):
        against.append(Message("No parts were brought. Mark the job as “Not brought”."))
    if unseen:
        against.append(Message("Check these parts first: {parts}.", parts=", ".join(unseen)))
    if untagged:
        against.append(Message("These parts have no tag yet: {parts}.", parts=", ".join(untagged)))
    nowhere = corner_not_noted(session.get_one(Job, job_id), parts)
    if nowhere:
        against.append(
            Message(
                "Note where these wheels sat, or that it isn't known: {parts}.",
                parts=", ".join(map(str, nowhere)),
            )
        )
    return against


def checkable(job: Job) -> Job:
    """Return the job if what came with it may still be changed; else raise Refused."""
    if not job.state.is_open:
        raise Refused(not_now(job.state))
    return job


def _untagged(parts: list[Part]) -> int:
    return sum(part.tag is None for part in parts)


def _part_for_tag(parts: list[Part], number: int) -> Part:
    if number:
        found = next((p for p in parts if p.number == number), None)
        if found is None:
            raise Unknown(Message("This job has no part {number}.", number=number))
        return found
    bare = next((p for p in parts if p.tag is None), None)
    if bare is None:
        says = Message("Every part of this job already has a tag. Take one off first.")
        raise Refused(says, key="tag")
    return bare


def _free_or_refuse(session: Session, number: str) -> None:
    row = session.execute(
        sa.select(Part.number, Part.stage, Job.code)
        .join(Job, Job.id == Part.job_id)
        .where(Part.tag == number)
    ).first()
    if row is not None:
        raise Taken(
            Message(
                "Tag {tag} is in use on part {part} of {code}, at “{stage}”.",
                tag=number,
                part=row.number,
                code=shown(row.code),
                stage=row.stage,
            ),
            key="tag",
        )
    tag = session.get(Tag, number)
    if tag is None:
        says = Message("Tag {tag} is not in our list. Add it under Tags first.", tag=number)
        raise Refused(says, key="tag")
    if tag.retired:
        says = Message("Tag {tag} is out of use (lost or worn). Use another one.", tag=number)
        raise Refused(says, key="tag")
