"""Erases a customer's personal data; what was done and paid stays, without a name."""

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.intake.question_rows import delete_drafts, erase_of_job
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.threads import blank_entries
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.office.person_rows import PersonRows, held_forms, person_of, rows_of_customer
from portal.shop.codes import shown
from portal.shop.moves import JobState
from portal.shop.states import LetterState
from portal.shop.verbs import AuditVerb
from portal.store.jobs import ERASED
from portal.store.tables import (
    Billing,
    Customer,
    Finding,
    Inspection,
    InvoiceBuyer,
    InvoiceJob,
    Job,
    JobNote,
    LedgerEntry,
    Letter,
    Move,
    Part,
    PartCheck,
    Photo,
    PushSubscription,
    Question,
)
from portal.store.types import verbatim

ENDED = frozenset(
    {
        JobState.HANDED_BACK,
        JobState.NOT_BROUGHT,
        JobState.CALLED_OFF,
        JobState.TURNED_AWAY,
        JobState.NOT_FETCHED,
    }
)
NOTHING = verbatim("—")


@transactional
def erase_customer(unit: UnitOfWork, session: Session, wanted: str) -> tuple[str, ...]:
    """Erase a person: by the code of one of their jobs, or by their e-mail address.

    All their jobs, drafts, questions and letters are theirs. Return the codes of the jobs; raise
    Unknown, or Refused while a job is open.
    """
    person = person_of(session, wanted)
    jobs = session.scalars(sa.select(Job).where(Job.id.in_(person.job_ids))).all()
    for job in jobs:
        if job.state not in ENDED:
            raise Refused(
                Message("Job {code} is still open. Close it first.", code=shown(job.code))
            )
    erase_person(session, person)
    codes = tuple(job.code for job in jobs)
    record(session, unit.now(), None, AuditVerb.ERASE_PERSON, " ".join(codes))
    return codes


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
    """Erase one customer with their own jobs alone: those whose time has come."""
    person = rows_of_customer(session, customer)
    jobs = session.scalars(sa.select(Job.id).where(Job.customer_id == customer.id)).all()
    own = PersonRows(
        person.names, person.emails, person.phones, (customer.id,), tuple(jobs), (), ()
    )
    erase_person(session, own, whole=False)


def erase_person(session: Session, person: PersonRows, *, whole: bool = True) -> None:
    """Take everything that tells who a person is out of their rows.

    Unless it is the `whole` person, what belongs to no job stays: newer drafts may be theirs.
    """
    for row in held_forms(session, person):
        session.delete(row)
    session.flush()
    delete_drafts(session, person.draft_ids)
    _withdraw_letters(session, person, whole=whole)
    session.execute(
        sa.update(Customer)
        .where(Customer.id.in_(person.customer_ids))
        .values(name=ERASED, email="", phone="")
        .execution_options(synchronize_session="fetch")
    )
    session.execute(sa.delete(Billing).where(Billing.customer_id.in_(person.customer_ids)))
    for job_id in person.job_ids:
        _erase_from(session, person, session.get_one(Job, job_id))


def _withdraw_letters(session: Session, person: PersonRows, *, whole: bool) -> None:
    """Empty the letters of their jobs, those that still wait among them, and delete the others."""
    about = Letter.job_id.in_(person.job_ids)
    waits = Letter.state.in_((LetterState.QUEUED, LetterState.SENDING))
    session.execute(sa.update(Letter).where(about, waits).values(state=LetterState.TAKEN_BACK))
    session.execute(
        sa.update(Letter)
        .where(about)
        .values(to="", subject="", text="", html="", calendar="", unsubscribe="", last_error=None)
    )
    if whole:
        to = sa.func.lower(Letter.to).in_(person.emails)
        session.execute(sa.delete(Letter).where(Letter.job_id.is_(None), to))


def _erase_from(session: Session, person: PersonRows, job: Job) -> None:
    job.vehicle, job.search, job.collector = "", job.code.lower(), ""
    job.may_fetch = ""
    job.link_until = job.link_until or job.dropoff_until
    job.declared, job.quote = person.scrubbed(job.declared), person.scrubbed(job.quote)
    job.assessed = person.scrubbed(job.assessed)
    erase_of_job(session, job.id)
    session.execute(sa.delete(PushSubscription).where(PushSubscription.job_id == job.id))
    blank_entries(session, job.id)
    photos = sa.select(Photo.id).where(Photo.job_id == job.id)
    for table in (Finding, Inspection):
        session.execute(sa.update(table).where(table.photo_id.in_(photos)).values(photo_id=None))
    session.execute(sa.delete(Photo).where(Photo.job_id == job.id))
    _blank_notes(session, person, job.id)
    # a receipt proves its sums without a name; the law keeps the buyer of an invoice for years
    papers = sa.select(InvoiceJob.invoice_id).where(InvoiceJob.job_id == job.id)
    session.execute(
        sa.delete(InvoiceBuyer).where(
            InvoiceBuyer.invoice_id.in_(papers), ~InvoiceBuyer.has_address
        )
    )


def _blank_notes(session: Session, person: PersonRows, job_id: int) -> None:
    """Empty what staff typed about a job; a statement of ours goes where it names the person."""
    session.execute(sa.delete(JobNote).where(JobNote.job_id == job_id))
    for column in (Move.note, PartCheck.note, LedgerEntry.reason):
        table = column.class_
        typed = sa.and_(table.job_id == job_id, column != "")
        session.execute(sa.update(table).where(typed).values({column: ""}))
    parts = sa.select(Part.id).where(Part.job_id == job_id)
    for says, own in (
        (Finding.says, Finding.job_id == job_id),
        (Inspection.says, Inspection.part_id.in_(parts)),
        (Move.says, Move.job_id == job_id),
    ):
        _blank_sayings(session, person, says, own)


def _blank_sayings(
    session: Session,
    person: PersonRows,
    says: sa.orm.InstrumentedAttribute[Any],
    own: sa.ColumnElement[bool],
) -> None:
    table = says.class_
    raw = sa.type_coerce(says, sa.Text)
    for row_id, text in session.execute(sa.select(table.id, raw).where(own, says.is_not(None))):
        if person.in_text(text):
            empty = None if table is Move else NOTHING
            session.execute(sa.update(table).where(table.id == row_id).values({says: empty}))
