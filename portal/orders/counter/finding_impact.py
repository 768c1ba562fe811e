"""The effect of a difference before the customer is asked: in words, price lines and days.

Prices are those of the day of the booking: an old order keeps the prices it was quoted. What is
found next is weighed after what waits for an answer already, so that the sums of several findings
add up to what they come to together.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy.orm import Session

from portal.craft.answers import Appraisal
from portal.craft.messages import Message
from portal.craft.parts import Declared
from portal.orders.counter.job_parts import open_findings, order_parts, order_with
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.job_lock import load_job, parts_of
from portal.orders.kernel.job_order import shop_as_booked
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.planning.free_times import free_times
from portal.shop.assessment.assess import Assessment, assess
from portal.shop.assessment.open_cases import longest_of
from portal.shop.calendar.week import Week
from portal.shop.finding_words import describe_difference
from portal.shop.moves import JobState
from portal.shop.pricing.differences import (
    Difference,
    DifferenceKind,
    changed_between,
    kinds_of,
    only_fills,
    patched,
)
from portal.shop.pricing.order_parts import OrderParts, put_into
from portal.shop.pricing.quote import difference
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.shop import Shop
from portal.store.jobs import Finding, Job

NOTHING_DIFFERS = Message("This is what the customer declared, so nothing differs.")
# what changes how long the hands are at work, beside what waits for others
MORE_WORK = (DifferenceKind.MORE, DifferenceKind.WAY, DifferenceKind.FINISH)
MOST_DAYS = 120


@dataclass(frozen=True, slots=True)
class FindingImpact:
    """The effect of a difference: in words, in lines that add up to `amount_minor`, in days.

    `total_minor` and `ready_at` are the price and the date that the customer would be promised
    together with what else waits for an answer, `was_minor` and `was_at` those of today. `refused`
    explains why the parts can't be done at all, where that is so. `within_told` means that only
    open answers are filled in, at a price and a date that the customer agreed to. `found` is the
    difference as it is kept.
    """

    kind: DifferenceKind
    says: tuple[Message, ...]
    lines: tuple[QuoteLine, ...]
    amount_minor: int
    total_minor: int
    days: int
    refused: tuple[Message, ...]
    ready_at: datetime
    was_minor: int
    was_at: datetime
    found: Difference
    within_told: bool = False


def weigh(unit: UnitOfWork, job_id: int, found: Difference) -> FindingImpact:
    """Return the effect of a difference, without saving it: for the page before it is raised.

    More work for the hands is dated by the floor as it stands, as long as none of it has begun.
    """
    weighed, after, promise, begun = _weigh(unit, job_id, found)
    if weighed.kind not in MORE_WORK or weighed.refused or begun:
        return weighed
    times = free_times(unit, without=job_id)
    shop = times.shop
    order = assess(longest_of(after), shop, shop.day(unit.now()))
    offer = times.at_once().offer(order)
    longer = days_between(shop.week, promise, offer.ready_at) if offer else 0
    if longer <= weighed.days:
        return weighed
    return replace(weighed, days=longer, ready_at=later_by(shop.week, promise, longer))


@read_only
def _weigh(
    unit: UnitOfWork, session: Session, job_id: int, found: Difference
) -> tuple[FindingImpact, Declared, datetime, bool]:
    job = load_job(session, job_id)
    weighed = weigh_in(unit, session, job, found)
    waiting = open_findings(session, job.id)
    after = put_into(order_with(session, job, waiting), weighed.found)
    shop = unit.shop(session)
    begun = not (job.state.is_expected or job.state is JobState.RECEIVED)
    return weighed, after.declared, promise_with(shop.week, job, waiting), begun


def weigh_in(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    found: Difference,
    *,
    after: Sequence[Finding] | None = None,
) -> FindingImpact:
    """Weigh a difference inside another verb's transaction.

    It is weighed on top of the findings `after`; without these, of all that wait for an answer.
    """
    shop = shop_as_booked(unit, session, job)
    waiting = open_findings(session, job.id) if after is None else after
    now = order_with(session, job, waiting)
    found = _named(order_parts(session, job), now, found)
    says, kinds, fills = _described(now, found, shop)
    if not kinds:
        raise Refused(NOTHING_DIFFERS, key="arrived")
    if DifferenceKind.FINISH in kinds:
        _nothing_coated_yet(session, job, found)
    then = put_into(now, found)
    booked, really = as_booked(now.declared, shop, job), as_booked(then.declared, shop, job)
    amount = really.quote.total.minor - booked.quote.total.minor
    refused = () if found.missing else _refused(then, really, found)
    # what nobody knew was promised as the case that takes longest: that is no news
    promised = as_booked(longest_of(now.declared), shop, job)
    charged = account_of(session, job.id).total.minor
    days = max(0, days_of(really.appraisal) - days_of(promised.appraisal))
    within = really.quote.total.minor <= booked.quote.high.minor and not (refused or days)
    return FindingImpact(
        within_told=within and fills,
        kind=kinds[0],
        says=says,
        lines=difference(booked.quote, really.quote),
        amount_minor=amount,
        total_minor=charged + sum(one.amount_minor for one in waiting) + amount,
        days=days,
        refused=refused,
        ready_at=later_by(shop.week, promise_with(shop.week, job, waiting), days),
        was_minor=charged,
        was_at=job.promise_at,
        found=found,
    )


def as_booked(declared: Declared, shop: Shop, job: Job) -> Assessment:
    """Return the assessment of an order at the prices of the day on which a job was booked."""
    return assess(declared, shop, shop.day(job.booked_at))


def days_of(appraisal: Appraisal) -> int:
    """Return the working days that an order is outside the house or waits for powder."""
    return max(appraisal.outside_days, appraisal.powder_days, appraisal.sample_days)


def later_by(week: Week, moment: datetime, days: int) -> datetime:
    """Return the pickup hour `days` working days after `moment`; the same moment for none."""
    if days <= 0:
        return moment
    there = week.local(moment)
    day = week.working_days_after(there.date(), days)
    return week.pickup_after(there + (day - there.date()))


def days_between(week: Week, first: datetime, second: datetime) -> int:
    """Return how many working days after `first` a pickup is not before `second`; 0 for none."""
    days = 0
    while days < MOST_DAYS and later_by(week, first, days) < second:
        days += 1
    return days


def _named(agreed: OrderParts, now: OrderParts, found: Difference) -> Difference:
    """Return a difference that says which aspects differ; Refused where its parts are none."""
    of_set = now.set_of(found.set_key) or agreed.set_of(found.set_key)
    counted = set(now.key_of) | set(agreed.key_of)
    known = found.more or set(found.numbers) <= counted
    if of_set is None or not found.numbers or not known:
        raise Refused(Message("Choose the parts that differ."), key="parts")
    if found.missing or found.more or found.changed:
        return found
    base = agreed if agreed.set_of(found.set_key) else now
    if not set(found.numbers) <= set(base.numbers_of(found.set_key)):
        raise Refused(Message("Choose the parts that differ."), key="parts")
    declared = base.as_declared(found.set_key, found.numbers)
    # without any it would say all of them, as differences did before
    return replace(found, changed=changed_between(declared, found.arrived) or ("note",))


def _nothing_coated_yet(session: Session, job: Job, found: Difference) -> None:
    for part in parts_of(session, job.id):
        if part.number in found.numbers and (part.coats_done or part.stage.uses_powder):
            raise Refused(
                Message("Part {part} already has powder on it.", part=part.number), key="plate"
            )


def _described(
    now: OrderParts, found: Difference, shop: Shop
) -> tuple[tuple[Message, ...], tuple[DifferenceKind, ...], bool]:
    """Return the sentences, the kinds, and whether only open answers are filled in."""
    if found.more or found.missing:
        own = replace(found.arrived, count=max(1, len(found.numbers)))
        return describe_difference(own, found, shop.stock), kinds_of(own, found), False
    says: list[Message] = []
    kinds: list[DifferenceKind] = []
    fills = True
    for key, numbers in now.groups_of(found.numbers).items():
        declared = now.as_declared(key, numbers)
        real = replace(found.of(numbers), arrived=patched(declared, found))
        described = describe_difference(declared, real, shop.stock, now.declared.bringing)
        says += [one for one in described if one not in says]
        kinds += [one for one in kinds_of(declared, real) if one not in kinds]
        fills = fills and only_fills(declared, real)
    return tuple(says), tuple(kinds), fills


def _refused(then: OrderParts, after: Assessment, found: Difference) -> tuple[Message, ...]:
    keys = then.groups_of(found.numbers)
    answers = [after.of_set(key) for key in keys]
    return tuple(dict.fromkeys(c.says for one in answers if one for c in one.refused))


def promise_with(week: Week, job: Job, findings: Iterable[Finding]) -> datetime:
    """Return the date that a job would be promised with these findings."""
    moment = job.promise_at
    for one in findings:
        moment = later_by(week, moment, one.days)
    return moment
