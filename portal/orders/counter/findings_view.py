"""What the counter sees of a job's findings."""

from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.craft.messages import Message
from portal.orders.counter.finding_answers import CustomerQuestion
from portal.orders.counter.finding_impact import promise_with
from portal.orders.counter.job_parts import open_findings
from portal.orders.kernel.job_lock import load_job
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.money import Money
from portal.shop.pricing.differences import DifferenceKind
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.states import FindingAnswer
from portal.store.drafts import Photo
from portal.store.jobs import Finding

# built once: building a statement costs more than running it
_FINDINGS = (
    sa.select(
        Finding.id,
        Finding.kind,
        Finding.says,
        Finding.change,
        Finding.lines,
        Finding.amount_minor,
        Finding.days,
        Finding.raised_at,
        Finding.answer,
        Finding.answered_at,
        Photo.token,
    )
    .outerjoin(Photo, Photo.id == Finding.photo_id)
    .where(Finding.job_id == sa.bindparam("job_id"))
    .order_by(Finding.id)
)


@dataclass(frozen=True, slots=True)
class StaffFindingView:
    """A finding with its lines and its answer."""

    id: int
    kind: DifferenceKind
    numbers: tuple[int, ...]
    says: Message
    lines: tuple[QuoteLine, ...]
    amount: Money
    days: int
    photo: str
    raised_at: datetime
    answer: FindingAnswer
    answered_at: datetime | None
    bag: str = ""

    @property
    def is_loss(self) -> bool:
        """Whether something is lost: only who finds it takes the question back."""
        return self.kind is DifferenceKind.LOST or bool(self.bag)

    @property
    def open(self) -> bool:
        """Whether it waits for an answer."""
        return self.answer is FindingAnswer.OPEN


@dataclass(frozen=True, slots=True)
class StaffQuestion:
    """Everything of a job that waits for one answer, and what a yes comes to."""

    read: CustomerQuestion
    amount: Money
    total: Money
    days: int
    was_at: datetime
    ready_at: datetime


def question_of(unit: UnitOfWork, session: Session, job_id: int) -> StaffQuestion | None:
    """Return what waits for an answer on a job; None where nothing does."""
    found = open_findings(session, job_id)
    if not found:
        return None
    job = load_job(session, job_id)
    charged = account_of(session, job_id).total.minor
    total = charged + sum(one.amount_minor for one in found)
    return StaffQuestion(
        read=CustomerQuestion(tuple(one.id for one in found), total),
        amount=Money(total - charged, job.currency),
        total=Money(total, job.currency),
        days=sum(one.days for one in found),
        was_at=job.promise_at,
        ready_at=promise_with(unit.shop(session).week, job, found),
    )


def findings_of(session: Session, job_id: int, currency: str) -> tuple[StaffFindingView, ...]:
    """Return the findings of a job, the oldest first."""
    return tuple(
        StaffFindingView(
            id=row.id,
            kind=row.kind,
            numbers=tuple(row.change.get("numbers", ())),
            says=row.says,
            lines=tuple(reading.read(QuoteLine, line, currency) for line in row.lines),
            amount=Money(row.amount_minor, currency),
            days=row.days,
            photo=row.token or "",
            raised_at=row.raised_at,
            answer=row.answer,
            answered_at=row.answered_at,
            bag=row.change.get("bag", ""),
        )
        for row in session.execute(_FINDINGS, {"job_id": job_id}).all()
    )
