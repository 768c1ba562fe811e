"""Findings: raised, answered, put into the order.

Work does not start, or go on, while a finding has no answer. Prices are those of the day of the
booking: an old order keeps the prices it was quoted.
"""

from collections.abc import Sequence
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.craft.check_kinds import Found
from portal.craft.messages import Message, joined
from portal.craft.parts import PartSet
from portal.orders.counter.finding_impact import (
    FindingImpact,
    amended,
    later_by,
    weigh_in,
)
from portal.orders.kernel.checks import REOPENED, stop_the_start
from portal.orders.kernel.errors import Already, Refused, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import (
    lock_job,
    not_now,
    parts_in_production,
    parts_of,
    record_event,
    refuse_if_overtaken,
)
from portal.orders.kernel.job_order import change_order, declared_of, shop_as_booked
from portal.orders.kernel.notifications import letter_finding
from portal.orders.kernel.posting import Cause
from portal.orders.kernel.transitions import move_job, send_to_strip
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.moves import JobState
from portal.shop.pricing.differences import Difference, DifferenceKind
from portal.shop.states import AnsweredHow, Arrival, FindingAnswer
from portal.shop.verbs import EventVerb
from portal.store.checks import PartCheck
from portal.store.drafts import Photo
from portal.store.jobs import Finding, Job, Part

CHOOSE_FIRST = Message("Choose the colour with the customer first.")


@transactional
@idempotent("raise_finding", answer="finding")
def raise_finding(  # noqa: PLR0913  # what a finding is made of, all named
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    found: Difference,
    *,
    photo: str = "",
    expected_event_id: int,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> int:
    """Save a difference as a finding and ask the customer; return its number.

    A job whose work has started waits until the answer is there.
    """
    job = lock_job(session, job_id)
    if not job.state.is_open:
        raise Refused(not_now(job.state))
    refuse_if_overtaken(session, job_id, expected_event_id)
    return raise_held(unit, session, job, found, photo=photo, who=who)


def raise_held(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    found: Difference,
    *,
    photo: str = "",
    by_check: bool = False,
    who: int | None,
) -> int:
    """Raise a finding inside another use case's transaction; the job must be locked.

    `by_check`: a test of ours found it, so that what arrived was as it was declared.
    """
    weighed = weigh_in(unit, session, job, found)
    finding = _row(session, job, found, weighed, photo, at=unit.now(), who=who)
    for part in () if by_check else _named(session, job.id, found):
        part.arrived = _arrival(found)
    record_event(session, job, EventVerb.FINDING, at=unit.now(), who=who, says=finding.says)
    if weighed.within_told:
        # they said "don't know", and agreed to any price up to the one that they were told
        answer, how = FindingAnswer.ACCEPTED, AnsweredHow.TOLD_BEFORE
        _answer(unit, session, job, finding, answer, how=how, who=who)
        _apply(unit, session, job, finding, who=who)
        return finding.id
    if job.state in (JobState.RECEIVED, JobState.IN_WORK):
        move_job(session, job.id, EventVerb.WAIT, at=unit.now(), who=who)
        session.refresh(job)
    letter_finding(unit, session, job, finding)
    return finding.id


def _arrival(found: Difference) -> Arrival:
    if found.lost:
        return Arrival.LOST
    return Arrival.MISSING if found.missing else Arrival.DIFFERS


@transactional
def answer_finding(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    finding_id: int,
    *,
    accepted: bool,
    how: AnsweredHow,
    who: int | None,
) -> None:
    """Record the customer's answer, given at the counter or by the link."""
    job = lock_job(session, job_id)
    settle(unit, session, job, finding_id, accepted=accepted, how=how, who=who)


def settle(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    finding_id: int,
    *,
    accepted: bool,
    how: AnsweredHow,
    who: int | None,
) -> None:
    """Answer a finding inside another use case's transaction; the job must be locked.

    A yes changes the order: its sets, price, promise and the work of its parts. When nothing is
    open any more, a yes lets work go on; a no leaves the next step to the counter.
    """
    if job.state.is_off:
        raise Refused(not_now(job.state))
    finding = _open_finding(session, job, finding_id)
    answer = FindingAnswer.ACCEPTED if accepted else FindingAnswer.DECLINED
    _answer(unit, session, job, finding, answer, how=how, who=who)
    if accepted:
        _apply(unit, session, job, finding, who=who)
    if job.state is JobState.WAITING and not count_open_findings(session, job.id):
        # with nothing left to work on, how the job ends is the counter's to say as well
        parts = parts_in_production(parts_of(session, job.id))
        able = parts and not open_colours(session, job) and not stop_the_start(session, parts)
        goes_on = able and not was_declined(session, job.id)
        verb = EventVerb.START if goes_on else EventVerb.RESUME
        move_job(session, job.id, verb, at=unit.now(), who=who)


@transactional
def withdraw(
    unit: UnitOfWork, session: Session, job_id: int, finding_id: int, *, who: int | None
) -> None:
    """Withdraw a finding that was a mistake: its parts are checked again."""
    job = lock_job(session, job_id)
    finding = _open_finding(session, job, finding_id)
    if finding.kind == DifferenceKind.LOST:
        raise Refused(Message("Mark the part as found instead."))
    take_back_held(unit, session, job, finding, who=who)
    if not _reopen_checks(unit, session, finding, who=who):
        for part in _named(session, job_id, reading.read(Difference, finding.change)):
            part.arrived = Arrival.UNCHECKED
    if job.state is JobState.WAITING and not count_open_findings(session, job.id):
        move_job(session, job_id, EventVerb.RESUME, at=unit.now(), who=who)


def _reopen_checks(
    unit: UnitOfWork, session: Session, finding: Finding, *, who: int | None
) -> bool:
    """Open the checks again of which a finding came; return whether it came of any."""
    query = sa.select(PartCheck).where(PartCheck.finding_id == finding.id)
    rows = session.scalars(query).all()
    for row in rows:
        again = PartCheck(
            job_id=row.job_id, part_id=row.part_id, kind=row.kind, result=REOPENED,
            at=unit.now(), person_id=who,
        )  # fmt: skip
        session.add(again)
    session.flush()
    return bool(rows)


def take_back_held(
    unit: UnitOfWork, session: Session, job: Job, finding: Finding, *, who: int | None
) -> None:
    """Delete a finding that has no answer yet; the job must be locked."""
    answer, how = FindingAnswer.WITHDRAWN, AnsweredHow.COUNTER
    _answer(unit, session, job, finding, answer, how=how, who=who)


def _row(
    session: Session,
    job: Job,
    found: Difference,
    weighed: FindingImpact,
    photo: str,
    *,
    at: datetime,
    who: int | None,
) -> Finding:
    single = _named(session, job.id, found) if len(found.numbers) == 1 else []
    finding = Finding(
        job_id=job.id,
        part_id=single[0].id if single else None,
        kind=weighed.kind,
        says=joined((*weighed.says, *weighed.refused)),
        lines=[reading.write(line, all_of_it=True) for line in weighed.lines],
        change={
            **reading.write(found),
            "missing": found.missing,
            "refused": bool(weighed.refused),
        },
        amount_minor=weighed.amount_minor,
        days=weighed.days,
        photo_id=session.scalar(sa.select(Photo.id).where(Photo.token == photo)) if photo else None,
        raised_at=at,
        raised_by=who,
    )
    session.add(finding)
    session.flush()
    return finding


def _open_finding(session: Session, job: Job, finding_id: int) -> Finding:
    finding = session.get(Finding, finding_id, populate_existing=True)
    if finding is None or finding.job_id != job.id:
        raise Unknown(Message("We can't find this finding."))
    if finding.answer is not FindingAnswer.OPEN:
        raise Already(Message("This finding is already answered."))
    return finding


def _answer(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    finding: Finding,
    answer: FindingAnswer,
    *,
    how: AnsweredHow,
    who: int | None,
) -> None:
    finding.answer = answer
    finding.answered_at = unit.now()
    finding.answered_how = how
    session.flush()
    data = {"finding": finding.id, "how": how, "answer": answer}
    record_event(session, job, EventVerb.SETTLE, at=unit.now(), who=who, data=data)


def _apply(
    unit: UnitOfWork, session: Session, job: Job, finding: Finding, *, who: int | None
) -> None:
    shop = shop_as_booked(unit, session, job)
    found = reading.read(Difference, finding.change)
    order, key = amended(session, job, found, shop)
    job.promise_at = later_by(shop.week, job.promise_at, finding.days)
    for part in _named(session, job.id, found):
        part.set_key = key
    # what was agreed counts, also where the lines made anew round otherwise
    total = job.total_minor + finding.amount_minor
    cause = Cause(unit.now(), who, finding.id)
    change_order(session, job, order, total, shop, cause=cause)
    if Found.LEAD in found.arrived.found:
        for part in _named(session, job.id, found):
            send_to_strip(session, part, at=unit.now(), who=None)


def _named(session: Session, job_id: int, found: Difference) -> Sequence[Part]:
    return [p for p in parts_of(session, job_id) if p.number in found.numbers]


def open_colours(session: Session, job: Job) -> tuple[PartSet, ...]:
    """Return the sets whose colour nobody has chosen yet and whose parts are to be coated."""
    sets = tuple(one for one in declared_of(job).sets if one.colour_open)
    if not sets:
        return ()
    wanted = {part.set_key for part in parts_in_production(parts_of(session, job.id))}
    return tuple(one for one in sets if one.key in wanted)


def go_on_when_nothing_waits(
    unit: UnitOfWork, session: Session, job: Job, *, who: int | None
) -> None:
    """Start work again on a waiting job when its customer has answered and chosen everything.

    A test that comes before all work keeps it from starting.
    """
    waits = count_open_findings(session, job.id) or open_colours(session, job)
    if job.state is JobState.WAITING and not waits:
        tests = stop_the_start(session, parts_in_production(parts_of(session, job.id)))
        move_job(
            session, job.id, EventVerb.RESUME if tests else EventVerb.START, at=unit.now(), who=who
        )


def was_declined(session: Session, job_id: int) -> bool:
    """Whether the customer said no to a finding of a job."""
    query = sa.select(Finding.id).where(
        Finding.job_id == job_id, Finding.answer == FindingAnswer.DECLINED
    )
    return session.scalar(query.limit(1)) is not None


def count_open_findings(session: Session, job_id: int) -> int:
    """How many findings of a job wait for an answer."""
    query = sa.select(sa.func.count()).where(
        Finding.job_id == job_id, Finding.answer == FindingAnswer.OPEN
    )
    return session.scalar(query) or 0
