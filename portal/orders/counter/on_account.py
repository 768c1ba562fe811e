"""Jobs of trade customers at the counter: whose they are, and whether they may go unpaid."""

from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.firms import IN_HOUSE, FirmCredit, credit_of
from portal.orders.kernel.job_lock import record_event
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.codes import shown
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.shop.roles import Role
from portal.shop.verbs import AuditVerb, EventVerb
from portal.store.jobs import Job
from portal.store.people import Person
from portal.store.tables import Firm

OVER = Message(
    "With this job the firm owes more than its limit. Take a payment, or the office enters why "
    "it may."
)
ONLY_OFFICE = Message("Only the office may let a firm owe more than its limit.")
OPEN = IN_HOUSE | {JobState.BOOKED}


@dataclass(frozen=True, slots=True)
class FirmOfJob:
    """The trade customer of a job; `with_job` is what it would owe with this job and all here."""

    firm_id: int
    name: str
    contact: str
    phone: str
    credit: FirmCredit
    with_job: Money
    over_at_hand_back: bool

    @property
    def over_at_door(self) -> bool:
        """Whether it would owe more than it may once everything that is here went out."""
        return self.credit.limit is not None and self.with_job > self.credit.limit


@read_only
def firm_of_job(_unit: UnitOfWork, session: Session, job_id: int) -> FirmOfJob | None:
    """Return the trade customer of a job, None where it is a private customer's."""
    query = (
        sa.select(Firm.id, Firm.name, Firm.contact, Firm.phone, Job.state, Job.currency)
        .join(Job, Job.firm_id == Firm.id)
        .where(Job.id == job_id)
    )
    row = session.execute(query).first()
    if row is None:
        return None
    credit = credit_of(session, row.id, row.currency)
    to_pay = account_of(session, job_id).to_pay
    coming = to_pay if row.state is JobState.BOOKED else Money(0, row.currency)
    return FirmOfJob(
        firm_id=row.id,
        name=row.name,
        contact=row.contact,
        phone=row.phone,
        credit=credit,
        with_job=credit.owed + credit.in_house + coming,
        over_at_hand_back=row.state in OPEN and credit.takes_over(to_pay),
    )


def reasons_against_owing(
    session: Session, job: Job, rest: Money, because: str, *, who: int | None
) -> list[tuple[str, Message]]:
    """Return what is against handing a firm's job back with `rest` unpaid, beside its field."""
    if not goes_over(session, job, rest):
        return []
    if not because.strip():
        return [("over_limit_because", OVER)]
    person = session.get(Person, who) if who is not None else None
    if person is None or not person.role.covers(Role.OFFICE):
        return [("over_limit_because", ONLY_OFFICE)]
    return []


def goes_over(session: Session, job: Job, rest: Money) -> bool:
    """Return whether a firm would owe more than it may with `rest` of a job."""
    return job.firm_id is not None and credit_of(session, job.firm_id, job.currency).takes_over(
        rest
    )


def record_over_limit(
    unit: UnitOfWork, session: Session, job: Job, because: str, *, who: int | None
) -> None:
    """Record who let a firm owe more than its limit, and why."""
    text = " ".join(because.split())[:300]
    says = Message("{reason}", reason=text)
    record_event(session, job, EventVerb.OVER_LIMIT, at=unit.now(), who=who, says=says)
    record(session, unit.now(), who, AuditVerb.OVER_LIMIT, f"{shown(job.code)}: {text}")
