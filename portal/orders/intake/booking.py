"""A draft becomes a job: everything checked again, one place taken, in one transaction."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.quantities import UnitSystem
from portal.orders.intake.draft_answers import Contact, Step
from portal.orders.intake.draft_view import DraftView, Offered, Times, look
from portal.orders.intake.drafts import draft_row
from portal.orders.intake.question_rows import to_job
from portal.orders.kernel.booking_letter import queue_booked
from portal.orders.kernel.errors import Overtaken, Refused, Taken
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_order import put_order, put_parts
from portal.orders.kernel.job_search import colour_names, search_text
from portal.orders.kernel.posting import Cause, post_price
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop import codes
from portal.shop.assessment.assess import Assessment
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.shop import Shop
from portal.shop.states import Arrival
from portal.shop.verbs import EventVerb
from portal.store.jobs import Customer
from portal.store.tables import Booking, Draft, Job, Move, Part, Photo

PICKUP_DIGITS = 6
# a date that has become earlier by more than this was read too long ago
STALE = timedelta(days=7)
TAKEN = Message(
    "Someone has just booked the last place at this time. Choose another time. Your other "
    "answers are saved."
)


@dataclass(frozen=True, slots=True)
class ReadyToBook:
    """A draft that may be booked: nothing missing, nothing refused, nothing assumed."""

    draft: DraftView
    contact: Contact
    offer: Offered
    order: Assessment
    units: UnitSystem | None = None


def agreement(draft: DraftView) -> str:
    """Return what a page shows as one text: the version, the total, the promise.

    The last button sends it back, so that nobody books another price or date than was read.
    """
    price = draft.assessment.quote if draft.assessment else None
    total = f"{price.total.minor}-{price.high.minor}" if price else "-"
    ready = f"{draft.promise.ready_at:%Y%m%dT%H%M%z}" if draft.promise else "-"
    return f"{draft.version}.{total}.{ready}"


def _agreed_offer(draft: DraftView, agreed: str) -> Offered | None:
    """Return the offer with the date that was read; None where that is no longer true.

    The floor goes on while a customer reads. A date that could be earlier by now stays as it was
    read; one that would be later must be read again.
    """
    if draft.promise is None or agreed.rpartition(".")[0] != agreement(draft).rpartition(".")[0]:
        return None
    try:
        read = datetime.strptime(agreed.rpartition(".")[2], "%Y%m%dT%H%M%z")
    except ValueError:
        return None
    if not draft.promise.ready_at <= read <= draft.promise.ready_at + STALE:
        return None
    return replace(draft.promise, ready_at=read)


def book(
    unit: UnitOfWork,
    token: str,
    *,
    once_token: str,
    agreed: str,
    confirmed: Iterable[str] = (),
    locale: str = "",
    units: UnitSystem | None = None,
) -> str:
    """Book the draft as it was read back, and return the token of the job's status link.

    `locale` is the language of its letters, where it is not the one in which the draft was begun;
    `units` those of letters and papers, where the customer chose some.
    Pressing twice, or in two windows, is one booking. Raises Refused (something is missing or
    can't be done), Overtaken (price, date or answers are no longer what the page showed) or
    Taken (the drop-off time is full).
    """
    draft = look(unit, token, times=Times.ONE)
    if draft.job_token:
        return draft.job_token
    ready = replace(_check(draft, agreed, frozenset(confirmed)), units=units)
    try:
        return _book_once(unit, ready, frozenset(confirmed), once_token=once_token, locale=locale)
    except IntegrityError:
        # several tries met a place that somebody else took first
        raise Taken(TAKEN, key="slot") from None


@transactional
def _book_once(
    unit: UnitOfWork,
    session: Session,
    ready: ReadyToBook,
    confirmed: frozenset[str],
    *,
    once_token: str,
    locale: str,
) -> str:
    row = draft_row(session, ready.draft.token, unit.now())
    if row.job_id is not None:
        return session.scalars(sa.select(Job.token).where(Job.id == row.job_id)).one()
    row.locale = locale or row.locale
    if row.version != ready.draft.version:
        raise Overtaken(
            Message("You changed this order in another window. Check it, then book again.")
        )
    return _book(unit, session, row, ready, confirmed, once_token=once_token)


def _check(draft: DraftView, agreed: str, confirmed: frozenset[str]) -> ReadyToBook:
    order, contact = draft.assessment, draft.answers.contact
    if draft.refused:
        raise Refused(draft.refused[0].says)
    if draft.answers.slot is not None and draft.promise is None:
        raise Taken(TAKEN, key="slot")
    if (
        draft.reached is not Step.READ_BACK
        or contact is None
        or draft.promise is None
        or order is None
        or order.assumed
    ):
        raise Refused(Message("Something is missing in this order. Go through the steps again."))
    offer = _agreed_offer(draft, agreed)
    if offer is None:
        raise Overtaken(Message("The price or the date has changed. Check it, then book again."))
    missing = [c for c in order.to_confirm if c.key not in confirmed]
    if missing:
        raise Refused(missing[0].says, key=missing[0].key)
    return ReadyToBook(draft, contact, offer, order)


@idempotent("book", answer="token")
def _book(
    unit: UnitOfWork,
    session: Session,
    row: Draft,
    ready: ReadyToBook,
    confirmed: frozenset[str],
    *,
    once_token: str,  # taken by the decorator
) -> str:
    shop, now = unit.shop(session), unit.now()
    place = _free_place(session, ready.offer)
    job = _job(unit, ready, row, shop, now)
    session.add(job)
    session.flush()
    post_price(session, job, Cause(now, None))
    session.add(Booking(window_start=ready.offer.start, place=place, job_id=job.id))
    _add_parts(session, job, ready, shop, now)
    session.add(
        Move(
            job_id=job.id,
            verb=EventVerb.BOOK,
            from_="",
            to=JobState.BOOKED,
            at=now,
            data={"confirmed": sorted(confirmed), "draft": row.version},
        )
    )
    to_job(session, row.id, job.id)
    session.execute(
        sa.update(Photo).where(Photo.draft_id == row.id).values(draft_id=None, job_id=job.id)
    )
    row.job_id = job.id
    row.updated_at = now
    queue_booked(unit, session, job, ready.order, shop)
    session.flush()
    return job.token


def _free_place(session: Session, offer: Offered) -> int:
    """Return the lowest free place; the unique key decides when two choose the same."""
    taken = set(
        session.scalars(sa.select(Booking.place).where(Booking.window_start == offer.start))
    )
    free = next((n for n in range(1, offer.places + 1) if n not in taken), None)
    if free is None:
        raise Taken(TAKEN, key="slot")
    return free


def _job(unit: UnitOfWork, ready: ReadyToBook, row: Draft, shop: Shop, now: datetime) -> Job:
    contact, offer, price = ready.contact, ready.offer, ready.order.quote
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
            locale=row.locale,
            units=ready.units,
        ),
        vehicle=contact.vehicle,
        search=search_text(
            code,
            contact.name,
            contact.email,
            contact.phone,
            contact.vehicle,
            *colour_names(ready.order.appraisal),
        ),
        dropoff_at=offer.start,
        dropoff_until=offer.end,
        promise_at=offer.ready_at,
        expected_at=None if offer.date.firm else offer.expected_at,
        expected_unless=None if offer.date.firm else offer.unless,
        promised_first_at=offer.ready_at,
    )
    put_order(job, ready.order, shop)
    return job


def _add_parts(session: Session, job: Job, ready: ReadyToBook, shop: Shop, now: datetime) -> None:
    sets = ready.order.declared.sets
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
    put_parts(parts, ready.order, shop)
    session.add_all(parts)
