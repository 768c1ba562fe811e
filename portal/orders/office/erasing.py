"""Erases a customer's personal data; what was done and paid stays, without a name."""

from collections.abc import Sequence

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.intake.question_rows import delete_drafts, erase_of_job
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.codes import normalise
from portal.shop.moves import JobState
from portal.shop.verbs import AuditVerb
from portal.store.jobs import ERASED
from portal.store.tables import (
    Billing,
    Customer,
    Draft,
    Finding,
    Inspection,
    InvoiceBuyer,
    InvoiceJob,
    Job,
    JobNote,
    Letter,
    Photo,
    Question,
)

ENDED = frozenset(
    {
        JobState.HANDED_BACK,
        JobState.NOT_BROUGHT,
        JobState.CALLED_OFF,
        JobState.TURNED_AWAY,
        JobState.NOT_FETCHED,
    }
)


@transactional
def erase_customer(_unit: UnitOfWork, session: Session, code: str) -> str:
    """Erase the customer of the job `code`; return the code. Refused while the job is open."""
    job = session.scalar(sa.select(Job).where(Job.code == normalise(code)))
    if job is None:
        raise Unknown(Message("There is no job with the code {code}.", code=code))
    if job.state not in ENDED:
        raise Refused(Message("This job is still open. Close it first."))
    if any(one.state not in ENDED for one in _jobs_of(session, job.customer)):
        raise Refused(Message("This customer has another open job. Close it first."))
    erase(session, job.customer)
    return job.code


@transactional
def erase_again(_unit: UnitOfWork, session: Session, codes: Sequence[str]) -> int:
    """Erase who was erased before and came back with an older copy; return how many.

    A job that the copy has as open loses its customer too; a code that it doesn't have is passed
    over.
    """
    found = session.scalars(
        sa.select(Customer)
        .join(Job, Job.customer_id == Customer.id)
        .where(Job.code.in_(codes), Customer.name != ERASED)
        .distinct()
    ).all()
    for customer in found:
        erase(session, customer)
    return len(found)


@transactional
def erase_asker(unit: UnitOfWork, session: Session, question_id: int, *, who: int) -> None:
    """Delete a question with its draft, photos and letters, because its customer asks for it.

    Raise Unknown, or Refused once the draft is booked: then the job's customer is erased.
    """
    question = session.get(Question, question_id)
    if question is None or question.draft_id is None:
        raise Unknown(Message("We can't find this question."))
    if question.job_id is not None:
        raise Refused(Message("This order is booked. Its data is deleted with the job."))
    draft_id = question.draft_id
    session.expunge(question)
    delete_drafts(session, [draft_id])
    record(
        session, unit.now(), who, AuditVerb.ERASE_QUESTION, Message("question {n}", n=question_id)
    )


def erase(session: Session, customer: Customer) -> None:
    """Take everything that tells who a customer is out of all their jobs, letters and photos."""
    customer.name, customer.email, customer.phone = ERASED, "", ""
    session.execute(sa.delete(Billing).where(Billing.customer_id == customer.id))
    for job in _jobs_of(session, customer):
        _erase_from(session, job)


def _jobs_of(session: Session, customer: Customer) -> Sequence[Job]:
    return session.scalars(sa.select(Job).where(Job.customer_id == customer.id)).all()


def _erase_from(session: Session, job: Job) -> None:
    job.vehicle, job.search, job.collector = "", job.code.lower(), ""
    job.link_until = job.link_until or job.dropoff_until
    erase_of_job(session, job.id)
    photos = sa.select(Photo.id).where(Photo.job_id == job.id)
    for table in (Finding, Inspection):
        session.execute(sa.update(table).where(table.photo_id.in_(photos)).values(photo_id=None))
    session.execute(sa.delete(Photo).where(Photo.job_id == job.id))
    session.execute(sa.delete(JobNote).where(JobNote.job_id == job.id))
    # a receipt proves its sums without a name; the law keeps the buyer of an invoice for years
    papers = sa.select(InvoiceJob.invoice_id).where(InvoiceJob.job_id == job.id)
    session.execute(
        sa.delete(InvoiceBuyer).where(
            InvoiceBuyer.invoice_id.in_(papers), ~InvoiceBuyer.has_address
        )
    )
    session.execute(sa.delete(Draft).where(Draft.job_id == job.id))
    session.execute(
        sa.update(Letter)
        .where(Letter.job_id == job.id)
        .values(to="", subject="", text="", html="", calendar="")
    )
