"""An appointment is moved: another drop-off time, with the promise to which it leads.

The old place is free for somebody else, the letter goes out, and the calendar file of the drop-off
gets its next sequence number. Who did not come gets a new time in the same way.
"""

from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.intake.booking import agreed_offer, agreement_on
from portal.orders.intake.draft_view import Offered, Times, offered_in
from portal.orders.intake.new_job import TAKEN, free_place, note_promise
from portal.orders.kernel.booking_letter import queue_moved
from portal.orders.kernel.errors import Overtaken, Refused, Taken, Unknown
from portal.orders.kernel.idempotency import earlier_answer, idempotent
from portal.orders.kernel.job_lock import (
    last_event,
    load_job,
    lock_job,
    not_now,
    refuse_if_overtaken,
)
from portal.orders.kernel.job_order import order_of, shop_as_booked
from portal.orders.kernel.transitions import move_job
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.planning.booked_since import promised, refuse_if_booked_since
from portal.orders.planning.free_times import free_times
from portal.orders.planning.stored_floor import NewestWork
from portal.shop.assessment.assess import Assessment
from portal.shop.codes import normalise
from portal.shop.verbs import EventVerb
from portal.store.tables import Booking, Job

VERB = "reschedule"
CHANGED = Message("The date has changed meanwhile. Choose the time again.")


@dataclass(frozen=True, slots=True)
class FreeAppointment:
    """A drop-off time to which an appointment can be moved, and its promise as one text."""

    offer: Offered
    agreement: str

    @property
    def name(self) -> str:
        """The time and its promise as one text, which a form sends back."""
        return f"{self.offer.start:%Y%m%dT%H%M%z}.{self.agreement}"


def named(name: str) -> tuple[datetime, str] | None:
    """Return start and promise of what `FreeAppointment.name` wrote; None for any other text."""
    start, _dot, agreement = name.partition(".")
    try:
        return datetime.strptime(start, "%Y%m%dT%H%M%z"), agreement
    except ValueError:
        return None


@dataclass(frozen=True, slots=True)
class AppointmentView:
    """The appointment of a job, and the times that are free for it; aware UTC."""

    job_id: int
    last_event_id: int
    free: tuple[FreeAppointment, ...]


def appointment_view(unit: UnitOfWork, code: str) -> AppointmentView:
    """Return the times that are free for a job, as if it had no place yet.

    Raises Unknown, or Refused where the parts are no longer expected.
    """
    with unit.read() as session:
        job = session.scalar(sa.select(Job).where(Job.code == normalise(code)))
        if job is None:
            raise Unknown(Message("No job has the code {code}.", code=code[:20]))
        job_id, order = _expected(unit, session, job)
        last = last_event(session, job_id)
    offers = offered_in(free_times(unit, without=job_id), order, None, Times.ALL)
    free = tuple(FreeAppointment(one, agreement_on(0, None, one)) for one in offers)
    return AppointmentView(job_id, last, free)


def move_appointment(
    unit: UnitOfWork,
    job_id: int,
    start: datetime,
    *,
    agreed: str,
    expected_event_id: int,
    once_token: str,
    who: int | None,
) -> datetime:
    """Move a job's drop-off to the window that begins at `start`; return that start.

    `agreed` is the promise as it was read beside the window. Raises Refused (the parts are no
    longer expected), Overtaken (the job, or the date, is not what the page showed) or Taken.
    """
    with unit.read() as session:
        if earlier_answer(session, once_token, VERB) is not None:
            return start
        _, order = _expected(unit, session, load_job(session, job_id))

    def promise(newest: NewestWork | None) -> datetime:
        found = offered_in(free_times(unit, without=job_id), order, start, Times.ONE)
        if not found:
            raise Taken(TAKEN, key="slot")
        offer = agreed_offer(found[0], agreement_on(0, None, found[0]), agreed)
        if offer is None:
            raise Overtaken(CHANGED)
        _move(
            unit,
            job_id,
            offer,
            newest,
            expected_event_id=expected_event_id,
            once_token=once_token,
            who=who,
        )
        return offer.start

    try:
        return promised(unit, promise)
    except IntegrityError:
        # several tries met a place that somebody else took first
        raise Taken(TAKEN, key="slot") from None


def _expected(unit: UnitOfWork, session: Session, job: Job) -> tuple[int, Assessment]:
    """Return the id and the order of a job whose parts are still to be brought."""
    if not job.state.is_expected:
        raise Refused(not_now(job.state))
    return job.id, order_of(job, shop_as_booked(unit, session, job))


@transactional
@idempotent(VERB)
def _move(  # noqa: PLR0913  # what a move is made of, all named
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    offer: Offered,
    newest: NewestWork | None,
    *,
    expected_event_id: int,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> None:
    refuse_if_booked_since(session, newest)
    job = lock_job(session, job_id)
    refuse_if_overtaken(session, job_id, expected_event_id)
    session.execute(sa.delete(Booking).where(Booking.job_id == job_id))
    place = free_place(session, offer)
    was = job.dropoff_at
    local = unit.shop(session).week.local
    move_job(
        session,
        job_id,
        EventVerb.RESCHEDULE,
        at=unit.now(),
        who=who,
        data={"was": f"{local(was):%Y-%m-%d}", "day": f"{local(offer.start):%Y-%m-%d}"},
    )
    session.refresh(job)
    session.add(Booking(window_start=offer.start, place=place, job_id=job_id))
    note_promise(session, job_id, offer, unit.now())
    job.dropoff_at, job.dropoff_until = offer.start, offer.end
    # a new time is a new promise; the old one is no one's to keep
    job.promise_at = job.promised_first_at = offer.ready_at
    job.expected_at = None if offer.date.firm else offer.expected_at
    job.expected_unless = None if offer.date.firm else offer.unless
    job.calendar_sequence += 1
    session.flush()
    queue_moved(unit, session, job, was)
