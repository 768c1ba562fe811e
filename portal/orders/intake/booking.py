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
from portal.orders.intake.new_job import TAKEN, NewJob, put_job
from portal.orders.intake.question_rows import to_job
from portal.orders.intake.strangers import refuse_many
from portal.orders.kernel.errors import Overtaken, Refused, Taken
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.planning.booked_since import promised, refuse_if_booked_since
from portal.orders.planning.stored_floor import NewestWork
from portal.shop.assessment.assess import Assessment
from portal.store.tables import Draft, Job, Photo

# a date that has become earlier by more than this was read too long ago
STALE = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class ReadyToBook:
    """A draft that may be booked: nothing missing, nothing refused, nothing assumed.

    `newest` is what there was to do when the date was computed.
    """

    draft: DraftView
    contact: Contact
    offer: Offered
    order: Assessment
    units: UnitSystem | None = None
    newest: NewestWork | None = None


def agreement(draft: DraftView) -> str:
    """Return what a page shows as one text: the version, the total, the promise.

    The last button sends it back, so that nobody books another price or date than was read.
    """
    return agreement_on(draft.version, draft.assessment, draft.promise)


def agreement_on(version: int, order: Assessment | None, offer: Offered | None) -> str:
    """Return the price and the date that a page shows as one text, with what it was drawn from."""
    total = f"{order.quote.total.minor}-{order.quote.high.minor}" if order else "-"
    ready = f"{offer.ready_at:%Y%m%dT%H%M%z}" if offer else "-"
    return f"{version}.{total}.{ready}"


def agreed_offer(offer: Offered | None, stands: str, agreed: str) -> Offered | None:
    """Return the offer with the date that was read; None where that is no longer true.

    `stands` is what the page would show now, `agreed` what it showed, both by `agreement_on`.
    The floor goes on while a customer reads. A date that could be earlier by now stays as it was
    read; one that would be later must be read again.
    """
    if offer is None or agreed.rpartition(".")[0] != stands.rpartition(".")[0]:
        return None
    try:
        read = datetime.strptime(agreed.rpartition(".")[2], "%Y%m%dT%H%M%z")
    except ValueError:
        return None
    if not offer.ready_at <= read <= offer.ready_at + STALE:
        return None
    return replace(offer, ready_at=read)


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
    confirmed_keys = frozenset(confirmed)

    def promise(newest: NewestWork | None) -> str:
        draft = look(unit, token, times=Times.ONE, sure=True)
        if draft.job_token:
            return draft.job_token
        ready = replace(_check(draft, agreed, confirmed_keys), units=units, newest=newest)
        return _book_once(unit, ready, confirmed_keys, once_token=once_token, locale=locale)

    try:
        return promised(unit, promise)
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
    refuse_many(unit, session, ready.contact)
    refuse_if_booked_since(session, ready.newest)
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
    offer = agreed_offer(draft.promise, agreement(draft), agreed)
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
    new = NewJob(ready.contact, ready.order, ready.offer, row.locale, ready.units)
    job = put_job(unit, session, new, confirmed, data={"draft": row.version})
    to_job(session, row.id, job.id)
    session.execute(
        sa.update(Photo).where(Photo.draft_id == row.id).values(draft_id=None, job_id=job.id)
    )
    row.job_id = job.id
    row.updated_at = unit.now()
    session.flush()
    return job.token
