"""The parts of a job by their sets: as agreed, and with the findings that wait for an answer."""

from collections.abc import Iterable, Sequence

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.orders.kernel.job_lock import parts_of
from portal.orders.kernel.job_order import declared_of
from portal.shop.pricing.differences import Difference, DifferenceKind
from portal.shop.pricing.order_parts import OrderParts, every_put_into
from portal.shop.states import FindingAnswer
from portal.store.jobs import Finding, Job

GONE = (DifferenceKind.MISSING, DifferenceKind.LOST)
# built once: building a statement costs more than running it
_OPEN = (
    sa.select(Finding)
    .where(Finding.job_id == sa.bindparam("job_id"), Finding.answer == FindingAnswer.OPEN)
    .order_by(Finding.id)
)


def order_parts(session: Session, job: Job) -> OrderParts:
    """Return the order as it was agreed, with the parts that it counts on."""
    left_out = _not_counted_on(session, job.id)
    parts = [part for part in parts_of(session, job.id) if part.number not in left_out]
    return OrderParts(declared_of(job), {part.number: part.set_key for part in parts})


def order_with(session: Session, job: Job, findings: Iterable[Finding]) -> OrderParts:
    """Return the order as it will be once the customer agrees to some findings."""
    return every_put_into(order_parts(session, job), map(difference_of, findings))


def open_findings(session: Session, job_id: int) -> Sequence[Finding]:
    """Return the findings of a job that wait for an answer, the oldest first."""
    return session.scalars(_OPEN, {"job_id": job_id}).all()


def difference_of(finding: Finding) -> Difference:
    """Return the difference that a finding is about."""
    return reading.read(Difference, finding.change)


def _not_counted_on(session: Session, job_id: int) -> set[int]:
    """Return the parts that the customer agreed to go on without, or has not agreed to add."""
    query = sa.select(Finding.change).where(
        Finding.job_id == job_id,
        sa.or_(
            sa.and_(Finding.answer == FindingAnswer.ACCEPTED, Finding.kind.in_(GONE)),
            sa.and_(Finding.answer != FindingAnswer.ACCEPTED, Finding.kind == DifferenceKind.MORE),
        ),
    )
    return {number for change in session.scalars(query) for number in change["numbers"]}
