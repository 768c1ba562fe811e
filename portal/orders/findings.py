"""What differs from the order: weighed in money and days, raised, answered, put into the order.

Work does not start, or go on, while a finding has no answer. Prices are those of the day of the
booking: an old order keeps the prices it was quoted.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.answers import Appraisal
from portal.craft.appraise import appraise
from portal.craft.declared import read_declared, write_declared
from portal.craft.parts import Declared
from portal.craft.say import Said, say
from portal.orders.errors import Already, Refused, Unknown
from portal.orders.holding import (
    DIFFERS,
    HERE_UNDONE,
    MISSING,
    hold,
    note_event,
    parts_of,
    refuse_if_overtaken,
)
from portal.orders.letting_know import letter_finding
from portal.orders.moving import move_job
from portal.orders.once import once
from portal.orders.part_plans import give_work
from portal.orders.unit import Unit
from portal.shop.differences import Difference, DifferenceKind, kinds_of, put_into, told
from portal.shop.keeping import keep
from portal.shop.moves import JobState
from portal.shop.quote import Quote, difference, quote
from portal.shop.quote_lines import QuoteLine
from portal.shop.shop import Shop
from portal.shop.working_week import Week
from portal.store.drafts import Photo
from portal.store.jobs import Finding, Job, Part

ACCEPTED, DECLINED, WITHDRAWN = "accepted", "declined", "withdrawn"
OPEN_TO_FINDINGS = frozenset(
    {
        JobState.BOOKED,
        JobState.NOT_BROUGHT,
        JobState.RECEIVED,
        JobState.WAITING,
        JobState.IN_WORK,
    }
)


@dataclass(frozen=True, slots=True)
class Weighed:
    """What a difference means: in words, in lines that add up to `amount_minor`, in days.

    `refused` says why the parts can't be done at all, where that is so.
    """

    kind: DifferenceKind
    says: tuple[Said, ...]
    lines: tuple[QuoteLine, ...]
    amount_minor: int
    days: int
    refused: tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class _Valued:
    declared: Declared
    appraisal: Appraisal
    quote: Quote


def weigh(unit: Unit, job_id: int, found: Difference) -> Weighed:
    """Say what a difference would mean, without keeping it: for the page before it is raised."""
    with unit.read() as session:
        job = session.get(Job, job_id)
        if job is None:
            raise Unknown(say("There is no such job."))
        return _weigh(unit, session, job, found)


def raise_finding(
    unit: Unit,
    job_id: int,
    found: Difference,
    *,
    photo: str = "",
    seen: int,
    once_token: str,
    who: int | None,
) -> int:
    """Keep a difference as a finding and ask the customer; return its number.

    A job whose work has started waits until the answer is there.
    """

    def work(session: Session) -> dict[str, Any]:
        job = hold(session, job_id)
        if job.state not in OPEN_TO_FINDINGS:
            raise Refused(
                say("This job is “{state}” now, so that can't be done.", state=job.state.title)
            )
        refuse_if_overtaken(session, job_id, seen)
        weighed = _weigh(unit, session, job, found)
        finding = _row(session, job, found, weighed, photo, at=unit.now(), who=who)
        for part in _named(session, job_id, found):
            part.arrived = MISSING if found.missing else DIFFERS
        note_event(session, job, "finding", at=unit.now(), who=who, note=finding.says)
        if job.state in (JobState.RECEIVED, JobState.IN_WORK):
            move_job(session, job_id, "wait", at=unit.now(), who=who)
            session.refresh(job)
        letter_finding(unit, session, job, finding)
        return {"finding": finding.id}

    def counted(session: Session) -> dict[str, Any]:
        return once(session, once_token, "raise_finding", unit.now(), lambda: work(session))

    return int(unit.write(counted)["finding"])


def answer_finding(
    unit: Unit, job_id: int, finding_id: int, *, accepted: bool, how: str, who: int | None
) -> None:
    """Note the customer's answer, given at the counter or by the link."""

    def work(session: Session) -> None:
        job = hold(session, job_id)
        settle(unit, session, job, finding_id, accepted=accepted, how=how, who=who)

    unit.write(work)


def settle(
    unit: Unit,
    session: Session,
    job: Job,
    finding_id: int,
    *,
    accepted: bool,
    how: str,
    who: int | None,
) -> None:
    """Answer a finding inside another verb's transaction; the job must be held.

    A yes changes the order: its sets, price, promise and the work of its parts. When nothing is
    left to answer, a yes lets work go on; a no leaves the next step to the counter.
    """
    finding = _unanswered(session, job, finding_id)
    _answer(unit, session, job, finding, ACCEPTED if accepted else DECLINED, how=how, who=who)
    if accepted:
        _apply(unit, session, job, finding)
    if job.state is JobState.WAITING and not _left(session, job.id):
        declined = session.scalar(
            sa.select(sa.func.count()).where(Finding.job_id == job.id, Finding.answer == DECLINED)
        )
        verb = "resume" if declined else "start"
        move_job(session, job.id, verb, at=unit.now(), who=who)


def withdraw(unit: Unit, job_id: int, finding_id: int, *, who: int | None) -> None:
    """Take a finding back that was a mistake: its parts are looked at again."""

    def work(session: Session) -> None:
        job = hold(session, job_id)
        finding = _unanswered(session, job, finding_id)
        _answer(unit, session, job, finding, WITHDRAWN, how="counter", who=who)
        for part in _named(session, job_id, Difference.from_dict(finding.change)):
            part.arrived = ""
        if job.state is JobState.WAITING and not _left(session, job.id):
            move_job(session, job_id, "resume", at=unit.now(), who=who)

    unit.write(work)


def _weigh(unit: Unit, session: Session, job: Job, found: Difference) -> Weighed:
    shop = unit.shop(session, at=job.booked_at)
    before = _value(read_declared(job.declared), shop, job.booked_at)
    own = next((s for s in before.declared.sets if s.key == found.set_key), None)
    numbers = _numbers(session, job.id, found.set_key)
    if own is None or not found.numbers or not set(found.numbers) <= set(numbers):
        raise Refused(say("Choose the parts that differ."), key="parts")
    kinds = kinds_of(own, found)
    if not kinds:
        raise Refused(say("That is what was declared; nothing differs."), key="arrived")
    really, key = put_into(before.declared, found, numbers)
    after = _value(really, shop, job.booked_at)
    lines = difference(before.quote, after.quote)
    new = next((s for s in after.appraisal.sets if s.part_set.key == key), None)
    refused = tuple(c.says for c in new.refused) if new and not found.missing else ()
    return Weighed(
        kind=kinds[0],
        says=told(own, found),
        lines=lines,
        amount_minor=after.quote.total.minor - before.quote.total.minor,
        days=max(0, _days(after.appraisal) - _days(before.appraisal)),
        refused=refused,
    )


def _value(declared: Declared, shop: Shop, at: datetime) -> _Valued:
    appraisal = appraise(declared, shop.practice)
    on = shop.week.local(at).date()
    return _Valued(declared, appraisal, quote(declared, appraisal, shop.tariff, on))


def _days(appraisal: Appraisal) -> int:
    """Working days that an order spends outside the house or waiting for powder."""
    outside = max((s.route.outside_days for s in appraisal.sets), default=0)
    waits = max((need.wait_days for s in appraisal.sets for need in s.needs), default=0)
    return max(outside, waits)


def _row(
    session: Session,
    job: Job,
    found: Difference,
    weighed: Weighed,
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
        says=" ".join((*weighed.says, *weighed.refused))[:400],
        lines=[line.to_dict() for line in weighed.lines],
        change={**found.to_dict(), "says": [keep(s) for s in (*weighed.says, *weighed.refused)]},
        amount_minor=weighed.amount_minor,
        days=weighed.days,
        photo_id=session.scalar(sa.select(Photo.id).where(Photo.token == photo)) if photo else None,
        raised_at=at,
        raised_by=who,
    )
    session.add(finding)
    session.flush()
    return finding


def _unanswered(session: Session, job: Job, finding_id: int) -> Finding:
    finding = session.get(Finding, finding_id, populate_existing=True)
    if finding is None or finding.job_id != job.id:
        raise Unknown(say("This job has no such finding."))
    if finding.answer:
        raise Already(say("This finding has its answer already: {answer}.", answer=finding.answer))
    return finding


def _answer(
    unit: Unit,
    session: Session,
    job: Job,
    finding: Finding,
    answer: str,
    *,
    how: str,
    who: int | None,
) -> None:
    finding.answer = answer
    finding.answered_at = unit.now()
    finding.answered_how = how
    session.flush()
    data = {"finding": finding.id, "how": how}
    note_event(session, job, "settle", at=unit.now(), who=who, note=answer, data=data)


def _apply(unit: Unit, session: Session, job: Job, finding: Finding) -> None:
    shop = unit.shop(session, at=job.booked_at)
    found = Difference.from_dict(finding.change)
    numbers = _numbers(session, job.id, found.set_key)
    really, key = put_into(read_declared(job.declared), found, numbers)
    after = _value(really, shop, job.booked_at)
    job.declared = write_declared(really)
    job.quote = after.quote.to_dict()
    job.total_minor += finding.amount_minor
    job.promise_at = later_by(shop.week, job.promise_at, finding.days)
    for part in _named(session, job.id, found):
        part.set_key = key
    session.flush()
    _give_work(session, job, after.appraisal, shop)


def _give_work(session: Session, job: Job, appraisal: Appraisal, shop: Shop) -> None:
    """Write the plan of every part anew, for the sets that changed as for those that did not."""
    by_key = {one.part_set.key: one for one in appraisal.sets}
    for part in parts_of(session, job.id):
        one = by_key.get(part.set_key)
        if one is None or part.arrived == MISSING:
            continue
        if one.refused:
            part.arrived = HERE_UNDONE
            continue
        give_work(part, one, shop)
    session.flush()


def later_by(week: Week, moment: datetime, days: int) -> datetime:
    """Return the pickup hour `days` working days after `moment`; the same moment for none."""
    if days <= 0:
        return moment
    there = week.local(moment)
    day = week.working_days_after(there.date(), days)
    return week.pickup_after(there + (day - there.date()))


def _named(session: Session, job_id: int, found: Difference) -> Sequence[Part]:
    return [p for p in parts_of(session, job_id) if p.number in found.numbers]


def _numbers(session: Session, job_id: int, set_key: str) -> tuple[int, ...]:
    """The parts of a set that the order counts on."""
    gone = _given_up(session, job_id)
    return tuple(
        p.number for p in parts_of(session, job_id) if p.set_key == set_key and p.number not in gone
    )


def _given_up(session: Session, job_id: int) -> set[int]:
    """The parts that the customer has agreed to go on without."""
    query = sa.select(Finding.change).where(
        Finding.job_id == job_id,
        Finding.answer == ACCEPTED,
        Finding.kind == DifferenceKind.MISSING,
    )
    return {number for change in session.scalars(query) for number in change["numbers"]}


def _left(session: Session, job_id: int) -> int:
    query = sa.select(sa.func.count()).where(Finding.job_id == job_id, Finding.answer == "")
    return session.scalar(query) or 0
