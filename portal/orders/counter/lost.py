"""Lost parts: written off with a reason, or found again.

Writing off raises a finding, so that the customer hears of it, sees the price without the part, and
says whether the rest goes on. The part keeps its lost tag: scanning it one day leads to the part.
"""

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter.check_in import free_tag
from portal.orders.counter.finding_answers import weigh_the_rest_anew
from portal.orders.counter.finding_impact import FindingImpact, weigh_in
from portal.orders.counter.findings import raise_held, take_back_held
from portal.orders.counter.waiting import go_on_when_nothing_waits
from portal.orders.kernel.errors import Already, Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import (
    NOT_HERE,
    load_part,
    lock_job,
    not_now,
    parts_of,
    record_event,
    refuse_if_overtaken,
)
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.progress_letters import letter_found, was_asked_about
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.orders.production.oven import out_of_open_load
from portal.orders.production.strip_runs import count_without, counted_when_found
from portal.shop.pricing.differences import Difference, DifferenceKind
from portal.shop.states import Arrival, FindingAnswer
from portal.shop.verbs import EventVerb
from portal.store.jobs import Finding, Job, Part, Tag
from portal.store.moves import Move

LONGEST_REASON = 200


@read_only
def weigh_loss(unit: UnitOfWork, session: Session, part_id: int) -> FindingImpact:
    """Return what an order would be without this part, before it is written off."""
    part, job = _part_and_job(session, part_id)
    return weigh_in(unit, session, job, _loss(job, part, "–"))


@transactional
@idempotent("write_off", answer="finding")
def write_off(
    unit: UnitOfWork,
    session: Session,
    part_id: int,
    reason: str,
    *,
    expected_event_id: int,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> int:
    """Write a part off as lost, tell its customer and wait for the answer; return the finding."""
    text = reason_in(reason)
    part, job = _part_and_job(session, part_id)
    lock_job(session, job.id)
    if not job.state.is_in_house:
        raise Refused(not_now(job.state))
    if part.arrived in NOT_HERE:
        raise Already(Message("This part is not on site."))
    refuse_if_overtaken(session, job.id, expected_event_id)
    record_event(
        session,
        job,
        EventVerb.WRITTEN_OFF,
        at=unit.now(),
        who=who,
        part_id=part.id,
        note=text,
        data={"before": part.arrived},
    )
    finding = raise_held(unit, session, job, _loss(job, part, text), who=who)
    out_of_open_load(session, part.id, at=unit.now())
    count_without(unit, session, part)
    return finding


@transactional
def found(unit: UnitOfWork, session: Session, part_id: int, *, who: int | None) -> None:
    """Put a found part back into the job.

    As long as the customer has not agreed to go on without it, it goes on as before. After that the
    order does not count on it any more: it goes home as it is, and the job says so.
    """
    part, job = _part_and_job(session, part_id)
    lock_job(session, job.id)
    if part.arrived is not Arrival.LOST:
        raise Already(Message("This part is not written off."))
    finding = _finding_of(session, part)
    answer = finding.answer if finding else None
    given_up = answer is FindingAnswer.ACCEPTED
    part.arrived = Arrival.TURNED_AWAY if given_up else _before(session, part)
    counted_when_found(session, part)
    record_event(session, job, EventVerb.FOUND, at=unit.now(), who=who, part_id=part.id)
    if finding is not None and answer is FindingAnswer.OPEN:
        take_back_held(unit, session, job, finding, who=who)
        weigh_the_rest_anew(unit, session, job, who=who)
        go_on_when_nothing_waits(unit, session, job, who=who)
    elif finding is not None:
        job.flag = Message("Part {part} was found again: tell the customer", part=part.number)
    if finding is not None and was_asked_about(session, job.id, finding.raised_at, answer):
        letter_found(unit, session, job, part=part.number, answer=answer)


def reason_in(typed: str) -> str:
    """Return how something was lost, as the customer will read it; Refused without a reason."""
    text = " ".join(typed.split())
    if not text:
        raise Refused(Message("Enter how it was lost. The customer will read this."), key="reason")
    if len(text) > LONGEST_REASON:
        raise Refused(Message("Use at most {most} characters.", most=LONGEST_REASON), key="reason")
    return text


def retire_lost_tags(unit: UnitOfWork, session: Session, job: Job, *, who: int | None) -> None:
    """Retire the tags of lost parts when their job ends: nobody can give them out again."""
    for part in parts_of(session, job.id):
        if part.arrived is Arrival.LOST and part.tag is not None:
            tag = session.get(Tag, part.tag)
            free_tag(session, job, part, unit=unit, who=who)
            if tag is not None:
                tag.retired = True


def _part_and_job(session: Session, part_id: int) -> tuple[Part, Job]:
    part = load_part(session, part_id)
    return part, session.get_one(Job, part.job_id)


def _loss(job: Job, part: Part, note: str) -> Difference:
    own = next(one for one in declared_of(job).sets if one.key == part.set_key)
    return Difference(part.set_key, (part.number,), own, missing=True, lost=True, note=note)


def _finding_of(session: Session, part: Part) -> Finding | None:
    query = sa.select(Finding).where(
        Finding.part_id == part.id, Finding.kind == DifferenceKind.LOST
    )
    return session.scalars(query.order_by(Finding.id.desc())).first()


def _before(session: Session, part: Part) -> Arrival:
    query = sa.select(Move.data).where(Move.part_id == part.id, Move.verb == EventVerb.WRITTEN_OFF)
    data = session.scalars(query.order_by(Move.id.desc())).first() or {}
    return Arrival(data.get("before") or Arrival.UNCHECKED)
