"""An order that staff enter, for who stands at the counter or is on the telephone.

What was entered is assessed, dated and booked as what a customer tells; nothing is assumed but a
colour, as long as none is chosen. Parts that are here take no drop-off place, and are as declared:
who declared them had them in hand.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.parts import Declared
from portal.craft.quantities import UnitSystem
from portal.orders.intake.booking import agreed_offer, agreement_on
from portal.orders.intake.draft_answers import Answers, Contact
from portal.orders.intake.draft_view import (
    Offered,
    OtherTurn,
    Times,
    assessed,
    offers_for,
    still_offered,
    turn_of,
)
from portal.orders.intake.new_job import TAKEN, NewJob, put_job
from portal.orders.kernel.errors import Overtaken, Refused, Taken
from portal.orders.kernel.firms import shop_for_firm
from portal.orders.kernel.idempotency import earlier_answer, idempotent
from portal.orders.kernel.job_lock import parts_of, parts_on_site, record_event
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.planning.booked_since import promised, refuse_if_booked_since
from portal.orders.planning.stored_floor import NewestWork
from portal.shop.assessment.assess import Assessment
from portal.shop.states import Arrival
from portal.shop.verbs import EventVerb
from portal.store.jobs import Job

VERB = "new_order"
NOT_TOLD = Message("Something is missing in this order. Fill in what is marked.")
READ_AGAIN = Message("The price or the date has changed. Read them out again, then go on.")


@dataclass(frozen=True, slots=True)
class Entered:
    """What staff entered: the parts, whose they are, and when they come.

    Parts that are `here` come now; others at the drop-off time that begins at `slot`, in UTC.
    `firm_id` is the trade customer whose order it is, at its own prices.
    """

    declared: Declared
    contact: Contact | None = None
    here: bool = True
    slot: datetime | None = None
    locale: str = "en"
    units: UnitSystem | None = None
    needed_by: date | None = None
    firm_id: int | None = None

    @property
    def answers(self) -> Answers:
        """The same as a customer's answers; what is fitted has been seen or asked."""
        saved = {f"fitted:{one.key}": 1 for one in self.declared.sets}
        return Answers(declared=self.declared, contact=self.contact, slot=self.slot, saved=saved)


@dataclass(frozen=True, slots=True)
class NewOrderView:
    """What an order comes to, as it stands on the page; `offers` only where all were asked for."""

    entered: Entered
    assessment: Assessment | None = None
    promise: Offered | None = None
    offers: tuple[Offered, ...] = ()
    turn: OtherTurn | None = None

    @property
    def agreement(self) -> str:
        """Price and date as one text, which the page sends back."""
        return agreement_on(0, self.assessment, self.promise)


def new_order_view(
    unit: UnitOfWork, entered: Entered, *, times: Times = Times.ONE, sure: bool = False
) -> NewOrderView:
    """Return what an order comes to; of parts without a size there is neither price nor date.

    With `sure` its date knows everybody who has booked: it is about to be promised.
    Raises CraftError for what can't be read together.
    """
    if not entered.declared.sets:
        return NewOrderView(entered)
    now = unit.now()
    with unit.read() as session:
        shop = shop_for_firm(unit, session, entered.firm_id)
    answers = still_offered(entered.answers, shop)
    order = assessed(answers, shop, now)
    if order.refused or times is Times.NONE:
        return NewOrderView(entered, order)
    offers = offers_for(unit, order, entered.slot, times, here=entered.here, sure=sure)
    chosen = next((one for one in offers if entered.slot in (None, one.start)), None)
    promise = (offers or (None,))[0] if entered.here else chosen
    turn = turn_of(unit, answers, order, promise, shop=shop, here=entered.here)
    return NewOrderView(
        entered, order, promise, offers if times is Times.ALL and not entered.here else (), turn
    )


def take_in(
    unit: UnitOfWork,
    entered: Entered,
    *,
    agreed: str,
    confirmed: Iterable[str],
    once_token: str,
    who: int | None,
) -> str:
    """Put an order into the books as it was read out, and return the code of its job.

    `confirmed` are the keys of what the customer accepted. Pressing twice is one order. Raises
    Refused (something is missing or can't be done), Overtaken (price or date are no longer what
    the page showed) or Taken (the drop-off time is full).
    """
    with unit.read() as session:
        earlier = earlier_answer(session, once_token, VERB)
    if earlier is not None:
        return str(earlier["code"])
    accepted = frozenset(confirmed)

    def promise(newest: NewestWork | None) -> str:
        new = _check(unit, new_order_view(unit, entered, sure=True), agreed, accepted)
        return _take_in(unit, new, accepted, newest, once_token=once_token, who=who)

    try:
        return promised(unit, promise)
    except IntegrityError:
        # several tries met a place that somebody else took first
        raise Taken(TAKEN, key="slot") from None


def _check(unit: UnitOfWork, view: NewOrderView, agreed: str, confirmed: frozenset[str]) -> NewJob:
    order, entered = view.assessment, view.entered
    if order is None or entered.contact is None or order.assumed:
        raise Refused(NOT_TOLD)
    if order.refused:
        raise Refused(order.refused[0].says)
    if view.promise is None or (entered.slot is None and not entered.here):
        raise Taken(TAKEN, key="slot")
    offer = agreed_offer(view.promise, view.agreement, agreed)
    if offer is None:
        raise Overtaken(READ_AGAIN)
    missing = [one for one in order.to_confirm if one.key not in confirmed]
    if missing:
        raise Refused(missing[0].says, key="confirmed")
    if entered.here:
        # the parts are not late while somebody tags them
        with unit.read() as session:
            minutes = unit.shop(session).week.drop_off.minutes
        offer = replace(offer, end=offer.start + timedelta(minutes=minutes))
    return NewJob(
        entered.contact,
        order,
        offer,
        entered.locale,
        entered.units,
        here=entered.here,
        needed_by=entered.needed_by,
        firm_id=entered.firm_id,
    )


@transactional
@idempotent(VERB, answer="code")
def _take_in(
    unit: UnitOfWork,
    session: Session,
    new: NewJob,
    confirmed: frozenset[str],
    newest: NewestWork | None,
    *,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> str:
    refuse_if_booked_since(session, newest)
    job = put_job(unit, session, new, confirmed, who=who, data={"here": new.here})
    if new.here:
        _seen_at_the_counter(unit, session, job, who=who)
    return job.code


def _seen_at_the_counter(unit: UnitOfWork, session: Session, job: Job, *, who: int | None) -> None:
    """Mark the parts as declared: who declared them had them in hand."""
    now = unit.now()
    for part in parts_on_site(parts_of(session, job.id)):
        if part.arrived is Arrival.UNCHECKED:
            part.arrived = Arrival.AS_DECLARED
            record_event(session, job, EventVerb.ARRIVED, at=now, who=who, part_id=part.id)
