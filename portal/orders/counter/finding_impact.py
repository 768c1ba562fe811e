"""The effect of a difference before the customer is asked: in words, price lines and days.

Prices are those of the day of the booking: an old order keeps the prices it was quoted.
"""

from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.answers import Appraisal
from portal.craft.damaged import only
from portal.craft.messages import Message
from portal.craft.parts import Declared
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.job_lock import load_job, parts_of
from portal.orders.kernel.job_order import declared_of, shop_as_booked
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.assessment.assess import Assessment, assess
from portal.shop.assessment.open_cases import longest_of
from portal.shop.calendar.week import Week
from portal.shop.finding_words import describe_difference
from portal.shop.pricing.differences import (
    Difference,
    DifferenceKind,
    kinds_of,
    only_fills,
    put_into,
)
from portal.shop.pricing.quote import difference
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.shop import Shop
from portal.shop.states import FindingAnswer
from portal.store.jobs import Finding, Job


@dataclass(frozen=True, slots=True)
class FindingImpact:
    """The effect of a difference: in words, in lines that add up to `amount_minor`, in days.

    `ready_at` is the date that the customer would be promised. `refused` explains why the parts
    can't be done at all, where that is so. `within_told` means that only open answers are filled
    in, at a price and a date that the customer agreed to.
    """

    kind: DifferenceKind
    says: tuple[Message, ...]
    lines: tuple[QuoteLine, ...]
    amount_minor: int
    days: int
    refused: tuple[Message, ...]
    ready_at: datetime
    within_told: bool = False


@read_only
def weigh(unit: UnitOfWork, session: Session, job_id: int, found: Difference) -> FindingImpact:
    """Return the effect of a difference, without saving it: for the page before it is raised."""
    return weigh_in(unit, session, load_job(session, job_id), found)


def weigh_in(unit: UnitOfWork, session: Session, job: Job, found: Difference) -> FindingImpact:
    """Weigh a difference inside another verb's transaction."""
    shop = shop_as_booked(unit, session, job)
    before = as_booked(declared_of(job), shop, job)
    own = next((s for s in before.declared.sets if s.key == found.set_key), None)
    numbers = numbers_of(session, job.id, found.set_key)
    if own is None or not found.numbers or not set(found.numbers) <= set(numbers):
        raise Refused(Message("Choose the parts that differ."), key="parts")
    # what had been declared of these very parts
    told_of_them = only(own, [at for at, n in enumerate(numbers) if n in found.numbers])
    kinds = kinds_of(told_of_them, found)
    if not kinds:
        raise Refused(
            Message("This is what the customer declared, so nothing differs."), key="arrived"
        )
    after, key = amended(session, job, found, shop)
    lines = difference(before.quote, after.quote)
    new = after.of_set(key)
    refused = tuple(c.says for c in new.refused) if new and not found.missing else ()
    # what nobody knew was promised as the case that takes longest: that is no news
    promised = as_booked(longest_of(before.declared), shop, job)
    days = max(0, days_of(after.appraisal) - days_of(promised.appraisal))
    within = after.quote.total.minor <= before.quote.high.minor and not (refused or days)
    return FindingImpact(
        within_told=within and only_fills(own, found),
        kind=kinds[0],
        says=describe_difference(told_of_them, found),
        lines=lines,
        amount_minor=after.quote.total.minor - before.quote.total.minor,
        days=days,
        refused=refused,
        ready_at=later_by(shop.week, job.promise_at, days),
    )


def as_booked(declared: Declared, shop: Shop, job: Job) -> Assessment:
    """Return the assessment of an order at the prices of the day on which a job was booked."""
    return assess(declared, shop, shop.day(job.booked_at))


def amended(session: Session, job: Job, found: Difference, shop: Shop) -> tuple[Assessment, str]:
    """Return the order with a difference put into it, and the key of the set of its parts."""
    numbers = numbers_of(session, job.id, found.set_key)
    really, key = put_into(declared_of(job), found, numbers)
    return as_booked(really, shop, job), key


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


def numbers_of(session: Session, job_id: int, set_key: str) -> tuple[int, ...]:
    """Return the parts of a set that the order counts on."""
    gone = _given_up(session, job_id)
    return tuple(
        p.number for p in parts_of(session, job_id) if p.set_key == set_key and p.number not in gone
    )


def _given_up(session: Session, job_id: int) -> set[int]:
    """Return the parts that the customer has agreed to go on without."""
    query = sa.select(Finding.change).where(
        Finding.job_id == job_id,
        Finding.answer == FindingAnswer.ACCEPTED,
        Finding.kind.in_((DifferenceKind.MISSING, DifferenceKind.LOST)),
    )
    return {number for change in session.scalars(query) for number in change["numbers"]}
