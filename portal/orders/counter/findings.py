"""What differs from the order: raised, answered, put into the order.

Work does not start, or go on, while a finding has no answer. Prices are those of the day of the
booking: an old order keeps the prices it was quoted.
"""

from collections import Counter
from collections.abc import Sequence
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.answers import Appraisal
from portal.craft.declared import read_declared, write_declared
from portal.craft.messages import Message, joined
from portal.craft.parts import Declared, PartSet
from portal.orders.counter.finding_impact import (
    FindingImpact,
    as_booked,
    later_by,
    numbers_of,
    weigh_in,
)
from portal.orders.kernel.errors import Already, Refused, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import (
    NOT_HERE,
    lock_job,
    not_now,
    parts_in_production,
    parts_of,
    record_event,
    refuse_if_overtaken,
)
from portal.orders.kernel.notifications import letter_finding
from portal.orders.kernel.transitions import move_job
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.kernel.wording import names_of, summary_of
from portal.orders.kernel.work_card import give_work
from portal.shop.assessment.assess import Assessment
from portal.shop.assessment.open_cases import cases_of
from portal.shop.moves import JobState
from portal.shop.pricing.agreed import at_agreed_sum
from portal.shop.pricing.differences import Difference, DifferenceKind, put_into
from portal.shop.shop import Shop
from portal.shop.states import AnsweredHow, Arrival, FindingAnswer
from portal.store.drafts import Photo
from portal.store.jobs import Finding, Job, Part

CHOOSE_FIRST = Message("Choose the colour with the customer first.")
OPEN_TO_FINDINGS = frozenset(
    {
        JobState.BOOKED,
        JobState.NOT_BROUGHT,
        JobState.RECEIVED,
        JobState.WAITING,
        JobState.IN_WORK,
    }
)


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
    """Keep a difference as a finding and ask the customer; return its number.

    A job whose work has started waits until the answer is there.
    """
    job = lock_job(session, job_id)
    if job.state not in OPEN_TO_FINDINGS:
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
    who: int | None,
) -> int:
    """Raise a finding inside another verb's transaction; the job must be held."""
    weighed = weigh_in(unit, session, job, found)
    finding = _row(session, job, found, weighed, photo, at=unit.now(), who=who)
    for part in _named(session, job.id, found):
        part.arrived = _arrival(found)
    record_event(session, job, "finding", at=unit.now(), who=who, says=finding.says)
    if weighed.within_told:
        # they said "don't know", and agreed to any price up to the one that they were told
        answer, how = FindingAnswer.ACCEPTED, AnsweredHow.TOLD_BEFORE
        _answer(unit, session, job, finding, answer, how=how, who=who)
        _apply(unit, session, job, finding)
        return finding.id
    if job.state in (JobState.RECEIVED, JobState.IN_WORK):
        move_job(session, job.id, "wait", at=unit.now(), who=who)
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
    """Note the customer's answer, given at the counter or by the link."""
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
    """Answer a finding inside another verb's transaction; the job must be held.

    A yes changes the order: its sets, price, promise and the work of its parts. When nothing is
    left to answer, a yes lets work go on; a no leaves the next step to the counter.
    """
    finding = _open_finding(session, job, finding_id)
    answer = FindingAnswer.ACCEPTED if accepted else FindingAnswer.DECLINED
    _answer(unit, session, job, finding, answer, how=how, who=who)
    if accepted:
        _apply(unit, session, job, finding)
    if job.state is JobState.WAITING and not count_open_findings(session, job.id):
        declined = session.scalar(
            sa.select(sa.func.count()).where(
                Finding.job_id == job.id, Finding.answer == FindingAnswer.DECLINED
            )
        )
        # with nothing left to work on, how the job ends is the counter's to say as well
        able = parts_in_production(parts_of(session, job.id)) and not open_colours(session, job)
        goes_on = not declined and able
        verb = "start" if goes_on else "resume"
        move_job(session, job.id, verb, at=unit.now(), who=who)


@transactional
def withdraw(
    unit: UnitOfWork, session: Session, job_id: int, finding_id: int, *, who: int | None
) -> None:
    """Take a finding back that was a mistake: its parts are looked at again."""
    job = lock_job(session, job_id)
    finding = _open_finding(session, job, finding_id)
    if finding.kind == DifferenceKind.LOST:
        raise Refused(Message("Mark the part as found instead."))
    take_back_held(unit, session, job, finding, who=who)
    for part in _named(session, job_id, Difference.from_dict(finding.change)):
        part.arrived = Arrival.UNCHECKED
    if job.state is JobState.WAITING and not count_open_findings(session, job.id):
        move_job(session, job_id, "resume", at=unit.now(), who=who)


def take_back_held(
    unit: UnitOfWork, session: Session, job: Job, finding: Finding, *, who: int | None
) -> None:
    """Strike a finding that has no answer yet; the job must be held."""
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
        lines=[line.to_dict() for line in weighed.lines],
        change={**found.to_dict(), "refused": bool(weighed.refused)},
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
    record_event(session, job, "settle", at=unit.now(), who=who, data=data)


def _apply(unit: UnitOfWork, session: Session, job: Job, finding: Finding) -> None:
    shop = unit.shop(session, at=job.booked_at)
    found = Difference.from_dict(finding.change)
    numbers = numbers_of(session, job.id, found.set_key)
    really, key = put_into(read_declared(job.declared), found, numbers)
    after = as_booked(really, shop, job)
    job.declared = write_declared(really)
    job.total_minor += finding.amount_minor
    # what was agreed counts, also where the lines made anew round otherwise
    job.quote = at_agreed_sum(after.quote, job.total_minor).to_dict()
    job.promise_at = later_by(shop.week, job.promise_at, finding.days)
    span_anew(job, really, shop)
    for part in _named(session, job.id, found):
        part.set_key = key
    session.flush()
    name_anew(session, job, after.appraisal, shop)
    give_work_anew(session, job, after)


def span_anew(job: Job, declared: Declared, shop: Shop) -> None:
    """Tell one day alone as soon as nothing is open any more."""
    cases = cases_of(declared, shop.practice)
    if cases is None:
        job.expected_at, job.expected_unless = None, None
    elif job.expected_unless:
        job.expected_unless = cases.slow


def name_anew(session: Session, job: Job, appraisal: Appraisal, shop: Shop) -> None:
    """Let the names of an order and its parts say what they are by now.

    With nothing left of the order its old name still says what it was.
    """
    if not appraisal.sets:
        return
    job.summary = summary_of(appraisal, shop.stock)
    names = names_of(appraisal, shop.stock)
    for part in parts_of(session, job.id):
        if part.set_key in names:
            part.label = names[part.set_key].of_one
    session.flush()


def give_work_anew(session: Session, job: Job, order: Assessment) -> None:
    """Write the plan of every part anew, for the sets that changed as for those that did not."""
    places: Counter[str] = Counter()
    for part in parts_of(session, job.id):
        one = order.of_set(part.set_key)
        if one is None or part.arrived in NOT_HERE:
            continue
        place = places[part.set_key]
        places[part.set_key] += 1
        if one.refused:
            part.arrived = Arrival.TURNED_AWAY
            continue
        give_work(part, order, place)
    session.flush()


def _named(session: Session, job_id: int, found: Difference) -> Sequence[Part]:
    return [p for p in parts_of(session, job_id) if p.number in found.numbers]


def open_colours(session: Session, job: Job) -> tuple[PartSet, ...]:
    """Return the sets whose colour nobody has chosen yet and whose parts are to be coated."""
    sets = tuple(one for one in read_declared(job.declared).sets if one.colour_open)
    if not sets:
        return ()
    wanted = {part.set_key for part in parts_in_production(parts_of(session, job.id))}
    return tuple(one for one in sets if one.key in wanted)


def go_on_when_nothing_waits(
    unit: UnitOfWork, session: Session, job: Job, *, who: int | None
) -> None:
    """Start work again on a waiting job when its customer has answered and chosen everything."""
    waits = count_open_findings(session, job.id) or open_colours(session, job)
    if job.state is JobState.WAITING and not waits:
        move_job(session, job.id, "start", at=unit.now(), who=who)


def count_open_findings(session: Session, job_id: int) -> int:
    """How many findings of a job wait for an answer."""
    query = sa.select(sa.func.count()).where(
        Finding.job_id == job_id, Finding.answer == FindingAnswer.OPEN
    )
    return session.scalar(query) or 0
