"""What the intake's pages show of a draft: the answers, their appraisal, price and times.

Where something has not been told yet the usual is assumed, so that a price and a date stand on
the first page already; what was assumed is told beside them and never booked.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.answers import About, Appraisal, Caution, CautionKind, SetAppraisal
from portal.craft.appraise import appraise
from portal.craft.finishes import can_be_made
from portal.craft.messages import Message
from portal.craft.open_answers import Slow
from portal.craft.parts import Declared, PartSet
from portal.orders.intake.asked_view import Asked, asked_in_draft
from portal.orders.intake.defaults import with_defaults
from portal.orders.intake.draft_answers import Answers, Step, reach, read_answers
from portal.orders.intake.drafts import Change, draft_row
from portal.orders.intake.open_answers import Narrowing, cases_of, narrowing
from portal.orders.intake.price_editions import PriceEdition, Repriced, edition, repriced
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.planning.forecasting import offers_for
from portal.shop.calendar.week import Week
from portal.shop.money import Money
from portal.shop.pricing.delivery_options import Way, ways
from portal.shop.pricing.quote import Quote, quote
from portal.shop.pricing.statements import DateStatement
from portal.shop.scheduling.promising import Offer
from portal.shop.shop import Shop
from portal.shop.states import PhotoPurpose
from portal.store.tables import Draft, Job, Photo


@dataclass(frozen=True, slots=True)
class Offered:
    """One free drop-off time and the promise that it leads to; aware UTC.

    `ready_at` is promised: the longest case of what the customer doesn't know. `expected_at` is
    the usual case.
    """

    start: datetime
    end: datetime
    places: int
    ready_at: datetime
    expected_at: datetime
    unless: Slow | None = None

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


@dataclass(frozen=True, slots=True)
class Estimate:
    """What an order comes to, with what had to be assumed for it."""

    appraisal: Appraisal
    quote: Quote
    assumed: tuple[Message, ...]


@dataclass(frozen=True, slots=True)
class DraftView:
    """A draft as the pages show it: what was told, and what that comes to."""

    token: str
    version: int
    answers: Answers
    reached: Step
    until: datetime
    estimate: Estimate | None
    offers: tuple[Offered, ...]
    photos: Mapping[str, tuple[str, ...]]
    whole: bool
    prices: int = 0
    repriced: Repriced | None = None
    job_token: str = ""
    questions: tuple[Asked, ...] = ()

    @property
    def sets(self) -> tuple[PartSet, ...]:
        """The sets of the order."""
        return self.answers.declared.sets

    @property
    def refused(self) -> tuple[Caution, ...]:
        """What stops the booking."""
        return self.estimate.appraisal.refused if self.estimate else ()

    @property
    def promise(self) -> Offered | None:
        """The chosen time's promise, else that of the first free time."""
        if self.answers.slot:
            return next((o for o in self.offers if o.start == self.answers.slot), None)
        return self.offers[0] if self.offers else None

    @property
    def narrowing(self) -> tuple[Narrowing, ...]:
        """What would make price and date firmer."""
        return narrowing(self.answers.declared)

    def appraisal_of(self, key: str) -> SetAppraisal | None:
        """The appraisal of one set."""
        if self.estimate is None:
            return None
        sets = self.estimate.appraisal.sets
        return next((s for s in sets if s.part_set.key == key), None)

    @property
    def to_confirm(self) -> tuple[Caution, ...]:
        """What the customer confirms before booking, each once."""
        return cautions(self.estimate.appraisal, CautionKind.CONFIRM) if self.estimate else ()

    @property
    def to_know(self) -> tuple[Caution, ...]:
        """What is good to know, and what is looked at first, each once."""
        if self.estimate is None:
            return ()
        kinds = (CautionKind.PLACE, CautionKind.INSPECT, CautionKind.TELL)
        return tuple(c for kind in kinds for c in cautions(self.estimate.appraisal, kind))


def cautions(appraisal: Appraisal, kind: CautionKind) -> tuple[Caution, ...]:
    """Return the cautions of a kind, each once however many sets it concerns."""
    every = (*appraisal.cautions, *(c for s in appraisal.sets for c in s.cautions))
    found: dict[str, Caution] = {}
    for one in every:
        if one.kind is kind:
            found.setdefault(one.key, one)
    return tuple(found.values())


# where a refusal can be answered; whatever isn't named here, where the parts were described
_ANSWERED_AT = {About.ITEMS: Step.COMES_OFF, About.FINISH: Step.FINISH}


def held_at(refused: tuple[Caution, ...]) -> Step | None:
    """Return the first page at which something that stops the order can be changed."""
    pages = [_ANSWERED_AT.get(one.about, Step.ON_THEM) for one in refused]
    return min(pages, key=lambda step: step.number, default=None)


def look(
    unit: UnitOfWork, token: str, change: Change | None = None, *, with_times: bool = True
) -> DraftView:
    """Return the draft as its pages show it; with `change`, as it would look after that.

    Without `with_times` the drop-off times and their promises are left out: they take a
    simulation of the floor, and a page that only saves doesn't show them. Raises Unknown or
    Expired.
    """
    now = unit.now()
    with unit.read() as session:
        row = draft_row(session, token, now)
        kept = read_answers(row.answers)
        shop = unit.shop(session)
        answers = still_offered(change(kept) if change else kept, shop)
        photos = _photos(session, row.id)
        job_token = _job_token(session, row)
        questions = asked_in_draft(session, row.id)
        version, until = row.version, row.expires_at
        list_now = edition(session, answers.prices, now)
    estimate = estimated(answers, shop, now) if answers.declared.sets else None
    refused = bool(estimate and estimate.appraisal.refused)
    return DraftView(
        token=row.token,
        version=version,
        answers=answers,
        reached=reach(answers, held=held_at(estimate.appraisal.refused) if estimate else None),
        until=until,
        estimate=estimate,
        offers=_offers(unit, answers, shop) if estimate and not refused and with_times else (),
        whole=with_times,
        photos=photos,
        prices=list_now.number if list_now else 0,
        repriced=_repriced(list_now, estimate, answers, shop, now),
        job_token=job_token,
        questions=questions,
    )


def _repriced(
    found: PriceEdition | None,
    estimate: Estimate | None,
    answers: Answers,
    shop: Shop,
    now: datetime,
) -> Repriced | None:
    if found is None or found.shown is None or estimate is None:
        return None
    declared, _assumed = filled(answers, shop)
    return repriced(found, declared, estimate.appraisal, estimate.quote, shop, now)


def estimated(answers: Answers, shop: Shop, now: datetime) -> Estimate:
    """Appraise and price an order, with the usual where nothing was told yet."""
    declared, assumed = filled(answers, shop)
    appraisal, price = weigh(declared, shop, now)
    return Estimate(appraisal, price, assumed)


def filled(answers: Answers, shop: Shop) -> tuple[Declared, tuple[Message, ...]]:
    """Return the order with the usual where nothing was told yet, and what that was."""
    told = frozenset(k.partition(":")[2] for k in answers.saved if k.startswith("fitted:"))
    return with_defaults(answers.declared, shop.practice, told)


def weigh(declared: Declared, shop: Shop, now: datetime) -> tuple[Appraisal, Quote]:
    """Appraise and price an order."""
    appraisal = appraise(declared, shop.practice)
    return appraisal, quote(declared, appraisal, shop.tariff, shop.week.local(now).date())


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
    answers = still_offered(answers, shop)
    declared, _assumed = filled(answers, shop)
    return ways(declared, shop.practice, shop.tariff, shop.week.local(now).date())


def _offers(unit: UnitOfWork, answers: Answers, shop: Shop) -> tuple[Offered, ...]:
    declared, _assumed = filled(answers, shop)
    cases = cases_of(declared, shop.practice)
    if cases is None:
        return tuple(_offered(one, one.ready_at, shop.week) for one in offers_for(unit, declared))
    usual = {one.window.start: one.ready_at for one in offers_for(unit, cases.usual)}
    return tuple(
        _offered(one, usual.get(one.window.start, one.ready_at), shop.week, cases.slow)
        for one in offers_for(unit, cases.longest)
    )


def _offered(offer: Offer, expected: datetime, week: Week, slow: Slow | None = None) -> Offered:
    """Return an offer as the pages show it; a span within one day is none."""
    ready, place = offer.ready_at, offer.window
    expected = min(expected, ready)
    if slow is None or week.local(expected).date() == week.local(ready).date():
        return Offered(place.start, place.end, place.places, ready, ready)
    return Offered(place.start, place.end, place.places, ready, expected, slow)


def other_turn(unit: UnitOfWork, seen: DraftView) -> OtherTurn | None:
    """Return what the other turn leads to; None where a rush isn't sold or wins no working day."""
    promise, estimate = seen.promise, seen.estimate
    if promise is None or estimate is None:
        return None
    with unit.read() as session:
        shop = unit.shop(session)
    taken = seen.answers.declared.rush
    if not taken and not shop.tariff.sells_rush:
        return None
    declared = replace(seen.answers.declared, rush=not taken)
    other = replace(seen.answers, declared=declared)
    price = estimated(other, shop, unit.now()).quote
    offers = _offers(unit, other, shop)
    if seen.answers.slot:
        offers = tuple(one for one in offers if one.start == promise.start)
    if not offers:
        return None
    sooner = shop.week.working_day_later(offers[0].ready_at)
    if not taken and sooner > promise.ready_at:
        return None
    rushed, usual = (estimate.quote, price) if taken else (price, estimate.quote)
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
