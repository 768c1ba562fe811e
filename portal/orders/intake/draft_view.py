"""What the intake's pages show of a draft: the answers, their appraisal, price and times.

Where something has not been told yet the usual is assumed, so that a price and a date stand on
the first page already; what was assumed is told beside them and never booked.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.answers import About, Caution
from portal.craft.finishes import can_be_made
from portal.craft.open_answers import Slow
from portal.craft.parts import PartSet
from portal.orders.intake.asked_view import AskedQuestion, asked_in_draft
from portal.orders.intake.draft_answers import Answers, Step, reach, read_answers
from portal.orders.intake.drafts import Change, draft_row
from portal.orders.intake.narrowing import Narrowing, narrowing
from portal.orders.intake.price_editions import Repriced, edition, repriced
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.planning.free_times import FreeTimes, free_times
from portal.shop.assessment.assess import Assessment, assess, assess_draft
from portal.shop.assessment.delivery_options import Way, ways
from portal.shop.assessment.open_cases import cases_of
from portal.shop.calendar.week import Week
from portal.shop.money import Money
from portal.shop.pricing.statements import DateStatement
from portal.shop.scheduling.promising import Foreseen, Offer
from portal.shop.shop import Shop
from portal.shop.states import PhotoPurpose
from portal.store.tables import Draft, Job, Photo


@dataclass(frozen=True, slots=True)
class Offered:
    """One free drop-off time and the promise that it leads to; aware UTC.

    `ready_at` is promised: the longest case of what the customer doesn't know. `expected_at` is
    the usual case. `foreseen` is what the promise was read from.
    """

    start: datetime
    end: datetime
    places: int
    ready_at: datetime
    expected_at: datetime
    unless: Slow | None = None
    foreseen: Foreseen | None = None

    @property
    def date(self) -> DateStatement:
        """When the parts are ready, as everything says it."""
        return DateStatement(self.expected_at, self.ready_at, self.unless)


@dataclass(frozen=True, slots=True)
class OtherTurn:
    """What going first would cost and lead to; where it is `taken`, what the usual turn would.

    `extra` is what a rush costs; `ready_at` the promise for the same drop-off time, or for the
    first one while none is chosen.
    """

    taken: bool
    extra: Money
    ready_at: datetime


class Times(Enum):
    """How many drop-off times a page shows: a simulation of the floor stands behind them."""

    NONE = "none"
    ONE = "one"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class DraftView:
    """A draft as the pages show it: what was told, and what that comes to.

    `promise` is the chosen time with its date, else the first free time. All `offers` are there
    only where `times` says so.
    """

    token: str
    version: int
    answers: Answers
    reached: Step
    until: datetime
    assessment: Assessment | None
    promise: Offered | None
    offers: tuple[Offered, ...]
    photos: Mapping[str, tuple[str, ...]]
    times: Times
    prices: int = 0
    repriced: Repriced | None = None
    job_token: str = ""
    questions: tuple[AskedQuestion, ...] = ()

    @property
    def sets(self) -> tuple[PartSet, ...]:
        """The sets of the order."""
        return self.answers.declared.sets

    @property
    def refused(self) -> tuple[Caution, ...]:
        """What stops the booking."""
        return self.assessment.refused if self.assessment else ()

    @property
    def to_confirm(self) -> tuple[Caution, ...]:
        """What the customer confirms before booking."""
        return self.assessment.to_confirm if self.assessment else ()

    @property
    def narrowing(self) -> tuple[Narrowing, ...]:
        """What would make price and date firmer."""
        return narrowing(self.answers.declared)


# where a refusal can be answered; whatever isn't named here, where the parts were described
_ANSWERED_AT = {About.ITEMS: Step.COMES_OFF, About.FINISH: Step.FINISH}


def held_at(refused: tuple[Caution, ...]) -> Step | None:
    """Return the first page at which something that stops the order can be changed."""
    pages = [_ANSWERED_AT.get(one.about, Step.ON_THEM) for one in refused]
    return min(pages, key=lambda step: step.number, default=None)


def look(
    unit: UnitOfWork,
    token: str,
    change: Change | None = None,
    *,
    times: Times = Times.ALL,
    sure: bool = False,
) -> DraftView:
    """Return the draft as its pages show it; with `change`, as it would look after that.

    With `sure` its dates know everybody who has booked: one is about to be promised. Raises
    Unknown or Ended.
    """
    now = unit.now()
    with unit.read() as session:
        row = draft_row(session, token, now)
        saved = read_answers(row.answers)
        shop = unit.shop(session)
        answers = still_offered(change(saved) if change else saved, shop)
        photos = _photos(session, row.id)
        job_token = _job_token(session, row)
        questions = asked_in_draft(session, row.id)
        version, until = row.version, row.expires_at
        list_now = edition(session, answers.prices, now)
    assessment = assessed(answers, shop, now) if answers.declared.sets else None
    refused = assessment.refused if assessment else ()
    offers: tuple[Offered, ...] = ()
    if assessment and not refused and times is not Times.NONE:
        offers = offers_for(unit, assessment, answers.slot, times, sure=sure)
    return DraftView(
        token=row.token,
        version=version,
        answers=answers,
        reached=reach(answers, held=held_at(refused)),
        until=until,
        assessment=assessment,
        promise=_promise(offers, answers.slot),
        offers=offers if times is Times.ALL else (),
        times=times,
        photos=photos,
        prices=list_now.number if list_now else 0,
        repriced=repriced(list_now, assessment, shop.day(now)) if assessment else None,
        job_token=job_token,
        questions=questions,
    )


def assessed(answers: Answers, shop: Shop, now: datetime) -> Assessment:
    """Return the assessment of what was answered, with the usual where nothing was told yet."""
    answered_keys = frozenset(k.partition(":")[2] for k in answers.saved if k.startswith("fitted:"))
    return assess_draft(answers.declared, shop, shop.day(now), answered_keys)


def still_offered(answers: Answers, shop: Shop) -> Answers:
    """Return the answers without finishes that the shop can't do any more.

    A powder may leave the list, or a set's metal be corrected, after a finish was chosen.
    """
    sets = tuple(_with_possible_finish(one, shop) for one in answers.declared.sets)
    return replace(answers, declared=replace(answers.declared, sets=sets))


def _with_possible_finish(one: PartSet, shop: Shop) -> PartSet:
    if one.finish is None or can_be_made(one, shop.stock):
        return one
    return replace(one, finish=None)


def compared_ways(answers: Answers, shop: Shop, now: datetime) -> tuple[Way, ...]:
    """Compare the ways of bringing an order, with the usual where nothing was told yet."""
    order = assessed(still_offered(answers, shop), shop, now).declared
    return ways(order, shop, shop.day(now))


def _promise(offers: tuple[Offered, ...], slot: datetime | None) -> Offered | None:
    if slot is None:
        return offers[0] if offers else None
    return next((one for one in offers if one.start == slot), None)


def offers_for(
    unit: UnitOfWork,
    order: Assessment,
    slot: datetime | None,
    times: Times,
    *,
    here: bool = False,
    sure: bool = False,
) -> tuple[Offered, ...]:
    """Return the free times with the dates that they lead to, or the one for `slot` alone.

    Parts that are `here` have one time: now.
    """
    free = free_times(unit, sure=sure)
    return offered_in(free.at_once() if here else free, order, slot, times)


def offered_in(
    free: FreeTimes, order: Assessment, slot: datetime | None, times: Times
) -> tuple[Offered, ...]:
    """Return the times of `free` with their dates, or the one for `slot` (None: the first)."""
    cases = cases_of(order.declared, free.shop.practice)
    longest, usual = order, None
    if cases:
        on = free.shop.day(free.now)
        longest, usual = (assess(one, free.shop, on) for one in (cases.longest, cases.usual))
    every = times is Times.ALL
    found = free.offers(longest) if every else _only(free.offer(longest, slot))
    expected: dict[datetime, datetime] = {}
    if usual:
        sooner = (
            free.offers(usual)
            if every
            else [e for one in found for e in _only(free.offer(usual, one.window.start))]
        )
        expected = {one.window.start: one.ready_at for one in sooner}
    slow = cases.slow if cases else None
    return tuple(
        _offered(one, expected.get(one.window.start, one.ready_at), free.shop.week, slow)
        for one in found
    )


def _only(offer: Offer | None) -> tuple[Offer, ...]:
    return () if offer is None else (offer,)


def _offered(offer: Offer, expected: datetime, week: Week, slow: Slow | None = None) -> Offered:
    """Return an offer as the pages show it; a span within one day is none."""
    ready, place = offer.ready_at, offer.window
    expected = min(expected, ready)
    if slow is None or week.local(expected).date() == week.local(ready).date():
        expected, slow = ready, None
    return Offered(place.start, place.end, place.places, ready, expected, slow, offer.foreseen)


def other_turn(unit: UnitOfWork, draft: DraftView) -> OtherTurn | None:
    """Return what the other turn leads to; None where a rush isn't sold or wins no working day."""
    with unit.read() as session:
        shop = unit.shop(session)
    return turn_of(unit, draft.answers, draft.assessment, draft.promise, shop=shop)


def turn_of(
    unit: UnitOfWork,
    answers: Answers,
    order: Assessment | None,
    promise: Offered | None,
    *,
    shop: Shop,
    here: bool = False,
) -> OtherTurn | None:
    """Return what the other turn of an order leads to, by what was answered and promised."""
    if promise is None or order is None:
        return None
    taken = answers.declared.rush
    if not taken and not shop.tariff.sells_rush:
        return None
    declared = replace(answers.declared, rush=not taken)
    other = assessed(replace(answers, declared=declared), shop, unit.now())
    offers = offers_for(unit, other, answers.slot, Times.ONE, here=here)
    if not offers:
        return None
    sooner = shop.week.working_day_later(offers[0].ready_at)
    if not taken and sooner > promise.ready_at:
        return None
    rushed, usual = (order.quote, other.quote) if taken else (other.quote, order.quote)
    extra = Money(rushed.total.minor - usual.total.minor, rushed.total.currency)
    return OtherTurn(taken, extra, offers[0].ready_at)


def _photos(session: Session, draft_id: int) -> dict[str, tuple[str, ...]]:
    rows = session.execute(
        sa.select(Photo.set_key, Photo.token)
        .where(Photo.draft_id == draft_id, Photo.purpose == PhotoPurpose.DECLARED)
        .order_by(Photo.id)
    )
    found: dict[str, tuple[str, ...]] = {}
    for key, token in rows:
        found[key] = (*found.get(key, ()), token)
    return found


def _job_token(session: Session, row: Draft) -> str:
    if row.job_id is None:
        return ""
    return session.scalar(sa.select(Job.token).where(Job.id == row.job_id)) or ""
