"""What the status page shows of findings: what was found, and what a yes goes on with."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from portal.craft import reading
from portal.craft.messages import Message
from portal.orders.counter.finding_answers import CustomerQuestion
from portal.orders.counter.finding_impact import later_by
from portal.shop.calendar.week import Week
from portal.shop.money import Money
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.states import FindingAnswer
from portal.store.tables import Finding, Photo

LONG_WAIT = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class FindingView:
    """Something that differs from what was declared."""

    number: int
    says: Message
    lines: tuple[QuoteLine, ...]
    amount: Money
    days: int
    photo: str
    answer: FindingAnswer
    raised_at: datetime
    answered_at: datetime | None

    @property
    def open(self) -> bool:
        """Whether it waits for an answer."""
        return self.answer is FindingAnswer.OPEN


@dataclass(frozen=True, slots=True)
class FindingsQuestion:
    """Everything that waits for one answer, and what a yes does.

    `amount` is the change of the price, `total` the price then, `was` today's. `ready_at` is
    the date then, `later` whether it is another one. `rest` counts the parts that a yes goes on
    with, where it goes on without some; else None.
    """

    findings: tuple[FindingView, ...]
    amount: Money
    total: Money
    was: Money
    ready_at: datetime
    later: bool
    rest: int | None

    @property
    def change(self) -> Money:
        """By how much the price changes, up or down."""
        return Money(abs(self.amount.minor), self.amount.currency)

    @property
    def read(self) -> CustomerQuestion:
        """What is read on the page, to be sent with the answer."""
        return CustomerQuestion(tuple(one.number for one in self.findings), self.total.minor)


FINDING = (
    Finding.id.label("finding"),
    Finding.says,
    Finding.change,
    Finding.lines,
    Finding.amount_minor,
    Finding.days,
    Finding.answer,
    Finding.raised_at,
    Finding.answered_at,
    Photo.token.label("photo"),
)


def findings_of(rows: Sequence[Any]) -> tuple[FindingView, ...]:
    """Return the findings among `rows` of a job."""
    return tuple(
        FindingView(
            number=row.finding,
            says=row.says,
            lines=tuple(reading.read(QuoteLine, line, row.currency) for line in row.lines),
            amount=Money(row.amount_minor, row.currency),
            days=row.days,
            photo=row.photo or "",
            answer=row.answer,
            raised_at=row.raised_at,
            answered_at=row.answered_at,
        )
        for row in rows
        if row.finding is not None and row.answer is not FindingAnswer.WITHDRAWN
    )


def waited_until(findings: Sequence[FindingView], promised: datetime) -> datetime | None:
    """Return until when work waited for an answer that took a day or more; None where none did.

    What was asked after the promised time has passed made nothing late.
    """
    slow = [
        one.answered_at
        for one in findings
        if one.answered_at is not None
        and one.raised_at < promised
        and one.answered_at - one.raised_at >= LONG_WAIT
    ]
    return max(slow, default=None)


def question_of(rows: Sequence[Any], worked_on: set[int], week: Week) -> FindingsQuestion | None:
    """Return what waits for an answer among `rows` of a job; None where nothing does.

    `worked_on` are the numbers of the parts that are worked on.
    """
    found = tuple(one for one in findings_of(rows) if one.open)
    if not found:
        return None
    job, moment = rows[0], rows[0].promise_at
    for one in found:
        moment = later_by(week, moment, one.days)
    amount = sum(one.amount.minor for one in found)
    return FindingsQuestion(
        findings=found,
        amount=Money(amount, job.currency),
        total=Money(job.total_minor + amount, job.currency),
        was=Money(job.total_minor, job.currency),
        ready_at=moment,
        later=moment > job.promise_at,
        rest=_rest([row.change for row in rows if row.answer is FindingAnswer.OPEN], worked_on),
    )


def _rest(changes: Sequence[dict[str, Any]], worked_on: set[int]) -> int | None:
    """Count the parts that go on without those that can't be done or are not here."""
    without = [one for one in changes if one.get("missing") or one.get("refused")]
    if not without:
        return None
    gone = {number for one in without for number in one["numbers"]}
    more = {number for one in changes if one.get("more") for number in one["numbers"]}
    return len((worked_on | more) - gone)
