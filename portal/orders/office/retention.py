"""The sweep: drafts end, drop-offs are missed, photos are erased."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter.link_digits import TRIES
from portal.orders.intake import ended_drafts
from portal.orders.intake.question_rows import delete_drafts
from portal.orders.kernel.notifications import letter_not_brought
from portal.orders.kernel.retention_times import (
    CONTACT_LIVES,
    DEVICES_LIVE,
    FIRM_LISTS_LIVE,
    LETTERS_LIVE,
    LINK_TRIES_LIVE,
    PHOTOS_LIVE,
    RECEIPTS_LIVE,
    TRIES_LIVE,
)
from portal.orders.kernel.threads import delete_threads
from portal.orders.kernel.transitions import move_job
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.office.erasing import ENDED, erase
from portal.shop.calendar.closures import is_shut_at
from portal.shop.moves import JobState
from portal.shop.states import LetterKind, LetterState
from portal.shop.verbs import EventVerb
from portal.store.jobs import ERASED
from portal.store.tables import (
    Billing,
    Customer,
    Draft,
    Firm,
    FirmLink,
    FirmList,
    FirmSession,
    HeldForm,
    IdempotencyKey,
    InvoiceBuyer,
    Job,
    KnownDevice,
    Letter,
    Photo,
    SignInTry,
    StaffSession,
)

# a customer who is an hour late is late; one who has not come by the evening did not bring it
GRACE = timedelta(hours=10)
# a database takes only so many values in one statement
AT_ONCE = 500
# letters that are deleted with their draft
OF_DRAFTS = (LetterKind.RESUME_LINK, LetterKind.QUESTION_ASKED, LetterKind.QUESTION_ANSWERED)
# when an order was over: collected, else when it was to be dropped off
over_at = sa.func.coalesce(Job.handed_back_at, Job.dropoff_until)


@dataclass(frozen=True, slots=True)
class Swept:
    """How many of each were swept."""

    drafts: int
    photos: int
    contacts: int
    not_brought: int

    @property
    def says(self) -> Message:
        """Tell it in one line."""
        return Message(
            "Deleted: {drafts} drafts, {photos} photos and {contacts} addresses. Not brought: "
            "{not_brought} drop-offs.",
            drafts=self.drafts,
            photos=self.photos,
            contacts=self.contacts,
            not_brought=self.not_brought,
        )


@transactional
def sweep(unit: UnitOfWork, session: Session) -> Swept:
    """Erase what is past its time and mark what was not brought; running it twice is harmless."""
    at = unit.now()
    drafts = _end_drafts(session, at)
    ended_drafts.forget(session, at)
    photos = _erase_photos(session, at)
    contacts = _erase_contacts(session, at)
    today = unit.shop(session).day(at)
    session.execute(sa.delete(InvoiceBuyer).where(InvoiceBuyer.keep_until < today))
    session.execute(sa.delete(IdempotencyKey).where(IdempotencyKey.at < at - RECEIPTS_LIVE))
    at_link = SignInTry.key.startswith(TRIES)
    session.execute(sa.delete(SignInTry).where(SignInTry.at < at - TRIES_LIVE, ~at_link))
    session.execute(sa.delete(SignInTry).where(SignInTry.at < at - LINK_TRIES_LIVE))
    for table in (StaffSession, FirmSession, FirmLink):
        session.execute(sa.delete(table).where(table.expires_at < at))
    session.execute(sa.delete(FirmList).where(FirmList.updated_at < at - FIRM_LISTS_LIVE))
    _erase_firms(session, at)
    over = sa.select(Job.id).where(over_at < at - CONTACT_LIVES, Job.state.in_(ENDED))
    delete_threads(session, over)
    _delete_without_job(session, at)
    return Swept(drafts, photos, contacts, _miss(unit, session, at))


def _end_drafts(session: Session, at: datetime) -> int:
    ended = list(session.scalars(sa.select(Draft).where(Draft.expires_at <= at)))
    ended_drafts.remember(session, ended)
    for first in range(0, len(ended), AT_ONCE):
        ids = [one.id for one in ended[first : first + AT_ONCE]]
        delete_drafts(session, ids)
    return len(ended)


def _erase_photos(session: Session, at: datetime) -> int:
    old = sa.select(Job.id).where(over_at < at - PHOTOS_LIVE, Job.state.in_(ENDED))
    found = list(session.scalars(sa.select(Photo.id).where(Photo.job_id.in_(old))))
    for photo_id in found:
        _delete(session, photo_id)
    return len(found)


def _delete(session: Session, photo_id: int) -> None:
    """Erase one photo; what pointed to it goes on without."""
    for table in Photo.metadata.sorted_tables:
        for key in table.foreign_keys:
            if key.column.table is Photo.__table__:
                column = key.parent
                session.execute(
                    sa.update(table).where(column == photo_id).values({column.name: None})
                )
    session.execute(sa.delete(Photo).where(Photo.id == photo_id))


def _erase_contacts(session: Session, at: datetime) -> int:
    own = sa.exists().where(Job.customer_id == Customer.id)
    needed = own.where(sa.or_(over_at >= at - CONTACT_LIVES, Job.state.not_in(ENDED)))
    query = sa.select(Customer).where(Customer.name != ERASED, own, ~needed)
    customers = list(session.scalars(query))
    for customer in customers:
        erase(session, customer)
    return len(customers)


def _delete_without_job(session: Session, at: datetime) -> None:
    """Delete what belongs to no job and is past its time; drafts take their own letters along."""
    waits = Letter.state.in_((LetterState.QUEUED, LetterState.SENDING))
    old = sa.and_(Letter.job_id.is_(None), Letter.made_at < at - LETTERS_LIVE, ~waits)
    session.execute(sa.delete(Letter).where(old, Letter.kind.not_in(OF_DRAFTS)))
    session.execute(sa.delete(HeldForm).where(HeldForm.expires_at < at))
    session.execute(sa.delete(KnownDevice).where(KnownDevice.made_at < at - DEVICES_LIVE))
    ordered = sa.exists().where(Job.customer_id == Customer.id)
    nobody = sa.select(Customer.id).where(~ordered)
    session.execute(sa.delete(Billing).where(Billing.customer_id.in_(nobody)))
    session.execute(sa.delete(Customer).where(Customer.id.in_(nobody)))


def _erase_firms(session: Session, at: datetime) -> None:
    """Erase who to speak to at firms that were closed long ago; their name and invoices stay."""
    session.execute(
        sa.update(Firm)
        .where(Firm.closed_at < at - CONTACT_LIVES)
        .values(contact="", email="", phone="")
    )


def _miss(unit: UnitOfWork, session: Session, at: datetime) -> int:
    missed = list(
        session.scalars(
            sa.select(Job).where(Job.state == JobState.BOOKED, Job.dropoff_until < at - GRACE)
        )
    )
    week = unit.shop(session).week
    missed = [one for one in missed if not is_shut_at(week, week.drop_off, one.dropoff_at)]
    for job in missed:
        move_job(session, job.id, EventVerb.MISS, at=at, who=None)
        letter_not_brought(unit, session, job)
    return len(missed)
