"""Answers to findings: all that waits is one question, and a yes puts all of it into the order.

Prices are those of the day of the booking: an old order keeps the prices it was quoted.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from portal.craft import reading
from portal.craft.check_kinds import Found
from portal.craft.messages import Message, joined
from portal.orders.counter.finding_impact import as_booked, later_by, weigh_in
from portal.orders.counter.job_parts import difference_of, open_findings, order_parts
from portal.orders.counter.waiting import go_on_if_agreed
from portal.orders.kernel.errors import Already, Overtaken, Refused, Unknown
from portal.orders.kernel.job_lock import lock_job, not_now, parts_of, record_event
from portal.orders.kernel.job_order import change_order, shop_as_booked
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.notifications import letter_findings
from portal.orders.kernel.posting import Cause
from portal.orders.kernel.transitions import move_part, send_to_strip
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.pricing.differences import Difference
from portal.shop.pricing.order_parts import put_into
from portal.shop.route import FIRST
from portal.shop.states import AnsweredHow, Arrival, FindingAnswer
from portal.shop.verbs import EventVerb
from portal.store.jobs import Finding, Job

ANSWERED = Message("This finding is already answered.")
CHANGED = Message("This has changed in the meantime. Read it again, then answer.")


@dataclass(frozen=True, slots=True)
class CustomerQuestion:
    """What was read on the page that is answered: the findings, and the price with all of them."""

    findings: tuple[int, ...]
    total_minor: int

    def __str__(self) -> str:
        """Return it as a form sends it back: 12-13=40900."""
        return f"{'-'.join(map(str, self.findings))}={self.total_minor}"

    @classmethod
    def read(cls, text: str) -> "CustomerQuestion":
        """Read what a form sent back; what can't be read is a question that nobody asked."""
        found = re.fullmatch(r"((?:[0-9]{1,12}-?){1,60})=([0-9]{1,15})", text, re.ASCII)
        if found is None:
            return cls((), 0)
        return cls(tuple(int(one) for one in found[1].split("-") if one), int(found[2]))


@dataclass(frozen=True, slots=True)
class AgreedChange:
    """A difference as the customer agreed to it: what it adds to the price, and to the days."""

    found: Difference
    amount_minor: int
    days: int


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
    """Record the customer's answer to one finding, given at the counter."""
    job = lock_job(session, job_id)
    finding = open_finding(session, job, finding_id)
    if accepted:
        # alone it may come to another sum than on top of the others
        weigh_anew(unit, session, job, finding, ())
    settle(unit, session, job, (finding,), accepted=accepted, how=how, who=who)


@transactional
def answer_all(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    read: CustomerQuestion,
    *,
    accepted: bool,
    how: AnsweredHow,
    who: int | None,
) -> None:
    """Record one answer to everything that waits; Overtaken where it is no longer what was read."""
    job = lock_job(session, job_id)
    settle(unit, session, job, asked(session, job, read), accepted=accepted, how=how, who=who)


def asked(session: Session, job: Job, read: CustomerQuestion) -> tuple[Finding, ...]:
    """Return the findings of a question that was read; Already or Overtaken when it is another."""
    found = tuple(open_findings(session, job.id))
    if not found:
        raise Already(ANSWERED)
    total = account_of(session, job.id).total.minor + sum(one.amount_minor for one in found)
    if (tuple(one.id for one in found), total) != (read.findings, read.total_minor):
        raise Overtaken(CHANGED)
    return found


def settle(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    findings: Iterable[Finding],
    *,
    accepted: bool,
    how: AnsweredHow,
    who: int | None,
) -> None:
    """Answer findings inside another use case's transaction; the job must be locked.

    A yes changes the order: its sets, price, promise and the work of its parts. When nothing is
    open any more, a yes lets work go on; a no leaves the next step to the counter.
    """
    if job.state.is_off:
        raise Refused(not_now(job.state))
    answer = FindingAnswer.ACCEPTED if accepted else FindingAnswer.DECLINED
    for one in findings:
        if accepted:
            put_in(unit, session, job, one, who=who)
        note_answer(unit, session, job, one, answer, how=how, who=who)
    weigh_the_rest_anew(unit, session, job, who=who)
    go_on_if_agreed(unit, session, job, who=who)


def open_finding(session: Session, job: Job, finding_id: int) -> Finding:
    """Return a finding of a job that waits for an answer; raise Unknown or Already."""
    finding = session.get(Finding, finding_id, populate_existing=True)
    if finding is None or finding.job_id != job.id:
        raise Unknown(Message("We can't find this finding."))
    if finding.answer is not FindingAnswer.OPEN:
        raise Already(ANSWERED)
    return finding


def note_answer(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    finding: Finding,
    answer: FindingAnswer,
    *,
    how: AnsweredHow,
    who: int | None,
) -> None:
    """Write down what became of a finding; the order stays as it is."""
    finding.answer = answer
    finding.answered_at = unit.now()
    finding.answered_how = how
    session.flush()
    data = {"finding": finding.id, "how": how, "answer": answer}
    record_event(session, job, EventVerb.SETTLE, at=unit.now(), who=who, data=data)


def put_in(
    unit: UnitOfWork, session: Session, job: Job, finding: Finding, *, who: int | None
) -> None:
    """Put a finding into the order, its price, its date and its parts; then note its answer."""
    cause = Cause(unit.now(), who, finding.id)
    agreed = AgreedChange(difference_of(finding), finding.amount_minor, finding.days)
    put_change(unit, session, job, agreed, cause)


def put_change(
    unit: UnitOfWork, session: Session, job: Job, agreed: AgreedChange, cause: Cause
) -> None:
    """Put a difference into the order at the sum and with the days that were agreed."""
    shop, found = shop_as_booked(unit, session, job), agreed.found
    now = put_into(order_parts(session, job), found)
    job.promise_at = later_by(shop.week, job.promise_at, agreed.days)
    named = [part for part in parts_of(session, job.id) if part.number in found.numbers]
    for part in named:
        part.set_key = now.key_of.get(part.number, part.set_key)
        if found.more and part.arrived is Arrival.TURNED_AWAY:
            part.arrived = Arrival.AS_DECLARED
    order = as_booked(now.declared, shop, job)
    # what was agreed counts, also where the lines made anew round otherwise
    total = job.total_minor + agreed.amount_minor
    change_order(session, job, order, total, shop, cause=cause)
    if Found.LEAD in found.arrived.found:
        for part in named:
            send_to_strip(session, part, at=unit.now(), who=None)
    if found.more and job.state.is_in_house:
        for part in named:
            if part.stage.is_before(FIRST):
                move_part(session, part.id, to=FIRST, at=unit.now(), who=cause.who)


def weigh_the_rest_anew(unit: UnitOfWork, session: Session, job: Job, *, who: int | None) -> None:
    """Weigh what still waits on top of what was answered; what no longer differs is withdrawn."""
    earlier: list[Finding] = []
    for one in open_findings(session, job.id):
        try:
            weigh_anew(unit, session, job, one, earlier)
        except Refused:
            answer, how = FindingAnswer.WITHDRAWN, AnsweredHow.COUNTER
            note_answer(unit, session, job, one, answer, how=how, who=who)
        else:
            earlier.append(one)
    if not job.state.is_expected:
        letter_findings(unit, session, job, earlier)


def weigh_anew(
    unit: UnitOfWork, session: Session, job: Job, finding: Finding, after: Sequence[Finding]
) -> None:
    """Write into a finding what it comes to on top of others."""
    weighed = weigh_in(unit, session, job, difference_of(finding), after=after)
    finding.says = joined((*weighed.says, *weighed.refused))
    finding.lines = [reading.write(line, all_of_it=True) for line in weighed.lines]
    finding.amount_minor = weighed.amount_minor
    finding.days = max(weighed.days, finding.change.get("by_floor", 0))
    session.flush()
