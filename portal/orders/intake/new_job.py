"""A job comes about: its row, its parts, its drop-off place and its first event."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.quantities import UnitSystem
from portal.orders.intake.draft_answers import Contact
from portal.orders.intake.draft_view import Offered
from portal.orders.kernel.booking_letter import queue_booked
from portal.orders.kernel.errors import Taken
from portal.orders.kernel.firms import firm_row
from portal.orders.kernel.job_order import put_order, put_parts
from portal.orders.kernel.job_search import colour_names, search_text
from portal.orders.kernel.posting import Cause, post_price
from portal.orders.kernel.unit import UnitOfWork
from portal.shop import codes
from portal.shop.assessment.assess import Assessment
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.shop import Shop
from portal.shop.states import Arrival
from portal.shop.verbs import EventVerb
from portal.store.jobs import Customer
from portal.store.tables import Booking, Job, Move, Part, PromiseMade

PICKUP_DIGITS = 6
TAKEN = Message(
    "Someone has just booked the last place at this time. Choose another time. Your other "
    "answers are saved."
)


@dataclass(frozen=True, slots=True)
class NewJob:
    """What becomes a job: nothing missing, nothing refused, nothing assumed.

    Where the parts are `here` already they take no drop-off place, and no letter tells when to
    bring them. `firm_id` is the trade customer whose job it is. Of jobs that come together one
    takes the place, and the page tells of all, so that not each of them has a letter.
    """

    contact: Contact
    order: Assessment
    offer: Offered
    locale: str
    units: UnitSystem | None = None
    here: bool = False
    needed_by: date | None = None
    firm_id: int | None = None
    takes_place: bool = True
    has_letter: bool = True


def put_job(
    unit: UnitOfWork,
    session: Session,
    new: NewJob,
    confirmed: Iterable[str],
    *,
    who: int | None = None,
    data: dict[str, Any] | None = None,
) -> Job:
    """Put a job into the books, inside another use case's transaction.

    `confirmed` are the keys of what the customer accepted. Raises Taken where the drop-off time
    is full; two that take one place meet an IntegrityError.
    """
    shop, now = unit.shop(session), unit.now()
    place = None if new.here or not new.takes_place else free_place(session, new.offer)
    job = _job(unit, new, shop, now)
    if new.firm_id is not None:
        firm = firm_row(session, new.firm_id)
        job.search = search_text(job.search, firm.name, firm.contact)
    session.add(job)
    session.flush()
    post_price(session, job, Cause(now, who))
    if place is not None:
        session.add(Booking(window_start=new.offer.start, place=place, job_id=job.id))
    note_promise(session, job.id, new.offer, now)
    _add_parts(session, job, new, shop, now)
    session.add(
        Move(
            job_id=job.id,
            verb=EventVerb.BOOK,
            from_=None,
            to=JobState.BOOKED,
            at=now,
            person_id=who,
            data={"confirmed": sorted(confirmed), **(data or {})},
        )
    )
    if not new.here and new.has_letter:
        queue_booked(unit, session, job, new.order, shop)
    session.flush()
    return job


def note_promise(session: Session, job_id: int, offer: Offered, now: datetime) -> None:
    """Record what a promise was read from, in place of an earlier one."""
    session.execute(sa.delete(PromiseMade).where(PromiseMade.job_id == job_id))
    if (found := offer.foreseen) is not None:
        row = PromiseMade(job_id=job_id, made_at=now, foreseen_at=found.at)
        row.kind, row.horizon = found.kind, found.horizon
        session.add(row)


def free_place(session: Session, offer: Offered) -> int:
    """Return the lowest free place; the unique key decides when two choose the same."""
    taken = set(
        session.scalars(sa.select(Booking.place).where(Booking.window_start == offer.start))
    )
    free = next((n for n in range(1, offer.places + 1) if n not in taken), None)
    if free is None:
        raise Taken(TAKEN, key="slot")
    return free


def _job(unit: UnitOfWork, new: NewJob, shop: Shop, now: datetime) -> Job:
    contact, offer, price = new.contact, new.offer, new.order.quote
    code = codes.new_code(unit.random_bytes)
    job = Job(
        code=code,
        token=codes.new_token(unit.random_bytes),
        pickup_code=codes.pick("0123456789", PICKUP_DIGITS, unit.random_bytes),
        state=JobState.BOOKED,
        booked_at=now,
        currency=price.total.currency,
        deposit_minor=price.deposit.minor,
        customer=Customer(
            name=contact.name,
            email=contact.email,
            phone=contact.phone,
            tell_by=contact.tell_by,
            locale=new.locale,
            units=new.units,
        ),
        vehicle=contact.vehicle,
        search=search_text(
            code,
            contact.name,
            contact.email,
            contact.phone,
            contact.vehicle,
            *colour_names(new.order.appraisal),
        ),
        dropoff_at=offer.start,
        dropoff_until=offer.end,
        promise_at=offer.ready_at,
        expected_at=None if offer.date.firm else offer.expected_at,
        expected_unless=None if offer.date.firm else offer.unless,
        promised_first_at=offer.ready_at,
        needed_by=new.needed_by,
        firm_id=new.firm_id,
    )
    put_order(job, new.order, shop)
    return job


def _add_parts(session: Session, job: Job, new: NewJob, shop: Shop, now: datetime) -> None:
    sets = new.order.declared.sets
    keys = [one.key for one in sets for _ in range(one.count)]
    parts = [
        Part(
            job_id=job.id,
            number=number,
            set_key=key,
            arrived=Arrival.UNCHECKED,
            stage=PartStage.EXPECTED,
            stage_since=now,
        )
        for number, key in enumerate(keys, start=1)
    ]
    put_parts(parts, new.order, shop)
    session.add_all(parts)
