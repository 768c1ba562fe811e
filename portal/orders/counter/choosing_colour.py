"""A colour chosen from the samples: priced and dated as of the booking, put into the order."""

from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy.orm import Session

from portal.craft.check_kinds import CheckKind
from portal.craft.colour_names import ColourName
from portal.craft.finishes import can_be_made, finishes_from_samples
from portal.craft.messages import Message
from portal.craft.open_answers import Slow
from portal.craft.parts import FinishChoice, Gloss, PartSet, Powder
from portal.orders.counter.finding_impact import as_booked, days_of, later_by
from portal.orders.counter.waiting import (
    go_on_when_nothing_waits,
    open_colours,
)
from portal.orders.kernel.errors import Already, Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_lock import (
    load_job,
    lock_job,
    not_now,
    parts_in_production,
    parts_of,
    record_event,
    refuse_if_overtaken,
)
from portal.orders.kernel.job_order import change_order, declared_of, shop_as_booked
from portal.orders.kernel.posting import Cause
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.orders.planning.free_times import ready_if_begun_now
from portal.shop.assessment.assess import Assessment, assess
from portal.shop.assessment.open_cases import cases_of, longest_of
from portal.shop.money import Money
from portal.shop.pricing.quote import difference
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.shop import Shop
from portal.shop.verbs import EventVerb
from portal.store.checks import PartCheck
from portal.store.jobs import Job

# the result of the check of a sample (craft/data/checks.toml)
CHOSEN = "chosen"


@dataclass(frozen=True, slots=True)
class Plates:
    """The choices for a set: each finish with its powder."""

    part_set: PartSet
    finishes: tuple[tuple[FinishChoice, Powder], ...]


@dataclass(frozen=True, slots=True)
class ColourChosen:
    """The effect of a colour: lines that add up to `amount`, the price, and the date."""

    finish: FinishChoice
    powder: Powder
    lines: tuple[QuoteLine, ...]
    amount: Money
    total: Money
    was_at: datetime
    ready_at: datetime


@read_only
def plates(unit: UnitOfWork, session: Session, job_id: int, set_key: str) -> Plates:
    """Return the colours that a set can get from today's powders, those in stock first."""
    job = load_job(session, job_id)
    own = _open_set(session, job, set_key)
    stock = unit.shop(session).stock
    assert own.finish is not None  # an open set has one
    found: dict[tuple[str, Gloss], FinishChoice] = {}
    for gloss in (own.finish.gloss, *Gloss):
        for one in finishes_from_samples(replace(own.finish, gloss=gloss), stock):
            found.setdefault((one.colour, one.gloss), one)
    return Plates(own, tuple((one, stock[one.colour]) for one in found.values()))


def weigh_colour(
    unit: UnitOfWork, job_id: int, set_key: str, colour: str, gloss: Gloss
) -> ColourChosen:
    """Return the effect of a colour, without saving it.

    Raise Refused where it can't be made, or the parts can't stand its heat.
    """
    with unit.read() as session:
        job = load_job(session, job_id)
        own = _open_set(session, job, set_key)
        # prices are those of the day of the booking
        shop = shop_as_booked(unit, session, job)
        before, after = _before_and_after(job, own, colour, gloss, shop)
        promise, was = job.promise_at, job.total_minor
        from_stock = _date_from_stock(job, after, shop)
        powder, today = shop.stock[colour], unit.shop(session)
    amount = after.quote.total.minor - before.quote.total.minor
    finish = next(s.finish for s in after.declared.sets if s.key == set_key)
    assert finish is not None
    longer = max(0, days_of(after.appraisal) - days_of(before.appraisal))
    ready = later_by(shop.week, promise, longer)
    if not longer:
        # a colour in stock leads to an earlier date; never to a later one than was told for it
        soonest = ready_if_begun_now(
            unit, assess(longest_of(after.declared), today, today.day(unit.now()))
        )
        ready = min(at for at in (promise, from_stock, soonest) if at)
    currency = after.quote.total.currency
    return ColourChosen(
        finish=finish,
        powder=powder,
        lines=difference(before.quote, after.quote),
        amount=Money(amount, currency),
        total=Money(was + amount, currency),
        was_at=promise,
        ready_at=ready,
    )


@transactional
@idempotent("choose_colour")
def choose_colour(  # noqa: PLR0913  # what a choice is made of, all named
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    set_key: str,
    chosen: ColourChosen,
    *,
    expected_event_id: int,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> None:
    """Put a priced colour into the order; work goes on where nothing else waits."""
    job = lock_job(session, job_id)
    if not job.state.is_open:
        raise Refused(not_now(job.state))
    refuse_if_overtaken(session, job_id, expected_event_id)
    own = _open_set(session, job, set_key)
    shop = shop_as_booked(unit, session, job)
    _before, after = _before_and_after(job, own, chosen.finish.colour, chosen.finish.gloss, shop)
    _put_in(unit, session, job, set_key, after, chosen, shop, who=who)


def _put_in(  # noqa: PLR0913  # everything that a choice changes, all named
    unit: UnitOfWork,
    session: Session,
    job: Job,
    set_key: str,
    after: Assessment,
    chosen: ColourChosen,
    shop: Shop,
    *,
    who: int | None,
) -> None:
    job.promise_at = chosen.ready_at
    cause = Cause(unit.now(), who)
    change_order(session, job, after, chosen.total.minor, shop, cause=cause)
    says = Message("{colour}", colour=ColourName(chosen.powder.name))
    record_event(session, job, EventVerb.COLOUR, at=unit.now(), who=who, says=says)
    own = [part for part in parts_of(session, job.id) if part.set_key == set_key]
    session.add_all(
        PartCheck(
            job_id=job.id,
            part_id=part.id,
            kind=CheckKind.SAMPLE,
            result=CHOSEN,
            at=unit.now(),
            person_id=who,
        )
        for part in parts_in_production(own)
    )
    session.flush()
    go_on_when_nothing_waits(unit, session, job, who=who)


def _date_from_stock(job: Job, after: Assessment, shop: Shop) -> datetime | None:
    """Return the earlier day that was told at the booking, where the order now is that case."""
    if job.expected_unless is not Slow.COLOUR or after.appraisal.powder_days:
        return None
    return None if cases_of(after.declared, shop.practice) else job.expected_at


def _before_and_after(
    job: Job, own: PartSet, colour: str, gloss: Gloss, shop: Shop
) -> tuple[Assessment, Assessment]:
    declared = declared_of(job)
    assert own.finish is not None
    finish = replace(own.finish, colour=colour, gloss=gloss, decide_from_sample=False)
    if colour not in shop.stock or not can_be_made(replace(own, finish=finish), shop.stock):
        raise Refused(Message("Choose a colour from the list."), key="plate")
    sets = tuple(
        replace(one, finish=finish) if one.key == own.key else one for one in declared.sets
    )
    after = as_booked(replace(declared, sets=sets), shop, job)
    answer = after.of_set(own.key)
    if answer and answer.refused:
        raise Refused(answer.refused[0].says, key="plate")
    return as_booked(declared, shop, job), after


def _open_set(session: Session, job: Job, set_key: str) -> PartSet:
    found = next((one for one in open_colours(session, job) if one.key == set_key), None)
    if found is None:
        raise Already(Message("The colour of these parts is already chosen."))
    return found
