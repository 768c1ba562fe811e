"""What the counter sees of a job's findings."""

from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.craft.messages import Message
from portal.shop.money import Money
from portal.shop.pricing.differences import DifferenceKind
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.states import FindingAnswer
from portal.store.drafts import Photo
from portal.store.jobs import Finding


@dataclass(frozen=True, slots=True)
class StaffFindingView:
    """A finding with its lines and its answer."""

    id: int
    kind: DifferenceKind
    says: Message
    lines: tuple[QuoteLine, ...]
    amount: Money
    days: int
    photo: str
    raised_at: datetime
    answer: FindingAnswer
    answered_at: datetime | None

    @property
    def open(self) -> bool:
        """Whether it waits for an answer."""
        return self.answer is FindingAnswer.OPEN


def findings_of(session: Session, job_id: int, currency: str) -> tuple[StaffFindingView, ...]:
    """Return the findings of a job, the oldest first."""
    query = (
        sa.select(
            Finding.id,
            Finding.kind,
            Finding.says,
            Finding.lines,
            Finding.amount_minor,
            Finding.days,
            Finding.raised_at,
            Finding.answer,
            Finding.answered_at,
            Photo.token,
        )
        .outerjoin(Photo, Photo.id == Finding.photo_id)
        .where(Finding.job_id == job_id)
        .order_by(Finding.id)
    )
    return tuple(
        StaffFindingView(
            id=row.id,
            kind=row.kind,
            says=row.says,
            lines=tuple(reading.read(QuoteLine, line, currency) for line in row.lines),
            amount=Money(row.amount_minor, currency),
            days=row.days,
            photo=row.token or "",
            raised_at=row.raised_at,
            answer=row.answer,
            answered_at=row.answered_at,
        )
        for row in session.execute(query).all()
    )
