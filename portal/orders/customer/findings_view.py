"""What the status page shows of findings: what was found, and what a yes goes on with."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from portal.craft import reading
from portal.craft.messages import Message
from portal.shop.money import Money
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.states import FindingAnswer
from portal.store.tables import Finding, Photo


@dataclass(frozen=True, slots=True)
class FindingView:
    """Something that differs from what was declared.

    `rest` counts the parts that a yes goes on with, where it goes on without some; else None.
    """

    number: int
    says: Message
    lines: tuple[QuoteLine, ...]
    amount: Money
    rest: int | None
    days: int
    photo: str
    answer: FindingAnswer
    answered_at: datetime | None

    @property
    def open(self) -> bool:
        """Whether it waits for an answer."""
        return self.answer is FindingAnswer.OPEN

    @property
    def change(self) -> Money:
        """By how much the price changes, up or down."""
        return Money(abs(self.amount.minor), self.amount.currency)


FINDING = (
    Finding.id.label("finding"),
    Finding.says,
    Finding.change,
    Finding.lines,
    Finding.amount_minor,
    Finding.days,
    Finding.answer,
    Finding.answered_at,
    Photo.token.label("photo"),
)


def findings_of(rows: Sequence[Any], worked_on: set[int]) -> tuple[FindingView, ...]:
    """Return the findings among `rows` of a job; `worked_on` are the numbers of its parts."""
    return tuple(
        FindingView(
            number=row.finding,
            says=row.says,
            lines=tuple(reading.read(QuoteLine, line, row.currency) for line in row.lines),
            amount=Money(row.amount_minor, row.currency),
            rest=_rest(row.change, worked_on),
            days=row.days,
            photo=row.photo or "",
            answer=row.answer,
            answered_at=row.answered_at,
        )
        for row in rows
        if row.finding is not None and row.answer is not FindingAnswer.WITHDRAWN
    )


def _rest(change: dict[str, Any], worked_on: set[int]) -> int | None:
    """Count the parts that go on without those that can't be done or are not here."""
    without = change["missing"] or change.get("refused", False)
    return len(worked_on - set(change["numbers"])) if without else None
