"""Findings: raised, asked about, withdrawn.

Work does not start, or go on, while a finding has no answer. Prices are those of the day of the
booking: an old order keeps the prices it was quoted.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.craft.check_kinds import CheckResult
from portal.craft.messages import CraftError, Message, joined
from portal.orders.counter.finding_answers import (
    note_answer,
    open_finding,
    put_in,
    settle,
    weigh_the_rest_anew,
)
from portal.orders.counter.finding_impact import FindingImpact, weigh_in
from portal.orders.counter.job_parts import difference_of, open_findings
from portal.orders.counter.more_parts import add_parts, drop_parts
from portal.orders.counter.waiting import count_open_findings
from portal.orders.kernel.errors import Already, Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import (
    lock_job,
    not_now,
    parts_of,
    record_event,
    refuse_if_overtaken,
)
from portal.orders.kernel.notifications import letter_findings
from portal.orders.kernel.transitions import move_job
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.moves import JobState
from portal.shop.pricing.differences import Difference, DifferenceKind
from portal.shop.states import AnsweredHow, Arrival, FindingAnswer
from portal.shop.verbs import EventVerb
from portal.store.checks import PartCheck
from portal.store.drafts import Photo
from portal.store.jobs import Finding, Job, Part


@transactional
@idempotent("raise_finding", answer="finding")
def raise_finding(  # noqa: PLR0913  # what a finding is made of, all named
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    found: Difference,
    *,
    photo: str = "",
    days: int = 0,
    agreed: bool = False,
    expected_event_id: int,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> int:
    """Save a difference as a finding; return its number.

    `days` are working days by which the floor dates it later. `agreed`: the customer is at the
    counter and agrees to all that waits. Else the customer is asked, at check-in once the job is
    received. A job whose work has started waits until the answer is there.
    """
    job = lock_job(session, job_id)
    if not job.state.is_open:
        raise Refused(not_now(job.state))
    refuse_if_overtaken(session, job_id, expected_event_id)
    if not agreed:
        return raise_held(unit, session, job, found, photo=photo, days=days, who=who)
    finding = _raise(unit, session, job, found, photo=photo, days=days, who=who)
    every = open_findings(session, job.id)
    settle(unit, session, job, every, accepted=True, how=AnsweredHow.COUNTER, who=who)
    return finding.id


@transactional
def ask(unit: UnitOfWork, session: Session, job_id: int) -> None:
    """Send the question about everything that waits, for a customer who is not at the counter."""
    job = lock_job(session, job_id)
    found = open_findings(session, job_id)
    if not found:
        raise Already(Message("Nothing waits for an answer."))
    letter_findings(unit, session, job, found)


def raise_held(  # noqa: PLR0913  # as above
    unit: UnitOfWork,
    session: Session,
    job: Job,
    found: Difference,
    *,
    photo: str = "",
    days: int = 0,
    by_check: bool = False,
    who: int | None,
) -> int:
    """Raise a finding inside another use case's transaction; the job must be locked.

    `by_check`: a test of ours found it, so that what arrived was as it was declared.
    """
    finding = _raise(unit, session, job, found, photo=photo, days=days, by_check=by_check, who=who)
    if finding.answer is not FindingAnswer.OPEN:
        return finding.id
    if job.state in (JobState.RECEIVED, JobState.IN_WORK):
        move_job(session, job.id, EventVerb.WAIT, at=unit.now(), who=who)
        session.refresh(job)
    if not job.state.is_expected:
        letter_findings(unit, session, job, open_findings(session, job.id))
    return finding.id


def _raise(  # noqa: PLR0913  # what a finding is made of, all named
    unit: UnitOfWork,
    session: Session,
    job: Job,
    found: Difference,
    *,
    photo: str,
    days: int,
    by_check: bool = False,
    who: int | None,
) -> Finding:
    """Write a finding down. Within what the customer was told before, nobody is asked."""
    weighed = weigh_in(unit, session, job, found)
    if found.more:
        add_parts(session, job, found, at=unit.now())
    finding = _row(session, job, weighed, photo, days, at=unit.now(), who=who)
    for part in () if by_check or found.bag else _named(session, job.id, found):
        part.arrived = _arrival(found)
    record_event(session, job, EventVerb.FINDING, at=unit.now(), who=who, says=finding.says)
    if weighed.within_told:
        # they said "don't know", and agreed to any price up to the one that they were told
        answer, how = FindingAnswer.ACCEPTED, AnsweredHow.TOLD_BEFORE
        put_in(unit, session, job, finding, who=who)
        note_answer(unit, session, job, finding, answer, how=how, who=who)
    return finding


def _arrival(found: Difference) -> Arrival:
    if found.lost:
        return Arrival.LOST
    if found.more:
        return Arrival.TURNED_AWAY  # it goes home as it came, unless the customer agrees
    return Arrival.MISSING if found.missing else Arrival.DIFFERS


@transactional
def withdraw(
    unit: UnitOfWork, session: Session, job_id: int, finding_id: int, *, who: int | None
) -> None:
    """Withdraw a finding that was a mistake: its parts are checked again."""
    job = lock_job(session, job_id)
    finding = open_finding(session, job, finding_id)
    if finding.kind == DifferenceKind.LOST:
        raise Refused(Message("Mark the part as found instead."))
    found = difference_of(finding)
    if found.bag:
        raise Refused(Message("Mark the bag as found instead."))
    take_back_held(unit, session, job, finding, who=who)
    if found.more:
        drop_parts(session, job, found)
    elif not _reopen_checks(unit, session, finding, who=who):
        for part in _named(session, job_id, found):
            part.arrived = Arrival.UNCHECKED
    weigh_the_rest_anew(unit, session, job, who=who)
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
            job_id=row.job_id, part_id=row.part_id, kind=row.kind, result=CheckResult.REOPENED,
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
    note_answer(unit, session, job, finding, answer, how=how, who=who)


def _row(
    session: Session,
    job: Job,
    weighed: FindingImpact,
    photo: str,
    days: int,
    *,
    at: datetime,
    who: int | None,
) -> Finding:
    found = weighed.found
    # a part more may be gone again, when it was a mistake
    alone = len(found.numbers) == 1 and not (found.more or found.bag)
    single = _named(session, job.id, found) if alone else []
    finding = Finding(
        job_id=job.id,
        part_id=single[0].id if single else None,
        kind=weighed.kind,
        says=joined((*weighed.says, *weighed.refused)),
        lines=[reading.write(line, all_of_it=True) for line in weighed.lines],
        change={
            **_kept(found),
            "missing": found.missing,
            "refused": bool(weighed.refused),
            "by_floor": days,
        },
        amount_minor=weighed.amount_minor,
        days=max(weighed.days, days),
        photo_id=session.scalar(sa.select(Photo.id).where(Photo.token == photo)) if photo else None,
        raised_at=at,
        raised_by=who,
    )
    session.add(finding)
    session.flush()
    return finding


def _kept(found: Difference) -> dict[str, Any]:
    """Return a difference as it is stored; refuse what nobody could read again."""
    stored = reading.write(found)
    try:
        reading.read(Difference, stored)
    except CraftError as wrong:
        raise Refused(wrong.sentence, key=wrong.key.rpartition(".")[2]) from None
    return stored


def _named(session: Session, job_id: int, found: Difference) -> Sequence[Part]:
    return [p for p in parts_of(session, job_id) if p.number in found.numbers]
