"""The customer can't take something off: the works does it, at a price and a date told before."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.parts import Declared, Item
from portal.craft.preparing import Task, together
from portal.orders.counter.finding_impact import as_booked, days_between, later_by
from portal.orders.counter.link_digits import WRONG, are_right, digits_in
from portal.orders.customer.preparing import NOT_EXPECTED, preparation
from portal.orders.kernel.errors import Already, Overtaken, Refused
from portal.orders.kernel.idempotency import earlier_answer, idempotent
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import (
    last_event,
    lock_job,
    record_event,
    refuse_if_overtaken,
)
from portal.orders.kernel.job_order import change_order, declared_of, shop_as_booked
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.posting import Cause
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.planning.free_times import FreeTimes, free_times
from portal.shop.assessment.assess import Assessment, assess
from portal.shop.assessment.open_cases import longest_of
from portal.shop.money import Money
from portal.shop.pricing.handing_over import handed_over
from portal.shop.pricing.quote import difference
from portal.shop.pricing.quote_lines import QuoteLine
from portal.shop.verbs import EventVerb
from portal.store.tables import Job, TakenOff

VERB = "hand_over"
GONE = Message("This is no longer yours to take off. This is how your list looks now.")
CHANGED = Message("Price or date have changed in the meantime. Read them again.")


@dataclass(frozen=True, slots=True)
class HandOver:
    """What it means that the works takes `items` off: lines that add up to `amount`, and the date.

    `was_at` is the date promised today, `ready_at` the one with it.
    """

    task: Task
    items: tuple[Item, ...]
    lines: tuple[QuoteLine, ...]
    amount: Money
    total: Money
    was_at: datetime
    ready_at: datetime
    last_event_id: int

    @property
    def agreement(self) -> str:
        """Price and date as one text, which a form sends back."""
        return f"{self.total.minor}.{self.ready_at:%Y%m%dT%H%M}"


def weigh_hand_over(unit: UnitOfWork, token: str, name: str) -> HandOver:
    """Return what it means that the works takes an item off, without saving it.

    Raise Already where it is none of the customer's, Refused where the works can't do it or the
    parts are no longer expected, or Unknown.
    """
    view = preparation(unit, token)
    if not view.state.is_expected:
        raise Refused(NOT_EXPECTED)
    task = view.task(name)
    if task is None:
        raise Already(GONE)
    if not task.may_be_ours:
        raise Refused(Message("We don't do this here. A workshop does it, or call us."))
    key = task.part_set.key
    theirs = [one.item for one in view.tasks if one.part_set.key == key and one.may_be_ours]
    items = together(task.part_set, task.item, theirs)
    with unit.read() as session:
        job: Job = behind(session, token, unit.now(), Job)[0]
        declared, shop = declared_of(job), shop_as_booked(unit, session, job)
        after = handed_over(declared, key, items)
        before_order, after_order = (as_booked(one, shop, job) for one in (declared, after))
        charged, expected_event_id = account_of(session, job.id).total, last_event(session, job.id)
        job_id, dropoff_at, promise_at = job.id, job.dropoff_at, job.promise_at
    amount = after_order.quote.total - before_order.quote.total
    days = _longer(unit, job_id, dropoff_at, declared, after)
    return HandOver(
        task=task,
        items=items,
        lines=difference(before_order.quote, after_order.quote),
        amount=amount,
        total=charged + amount,
        was_at=promise_at,
        ready_at=later_by(shop.week, promise_at, days),
        last_event_id=expected_event_id,
    )


def hand_over(  # what was read on the page, all named
    unit: UnitOfWork,
    token: str,
    name: str,
    *,
    read: Mapping[str, str],
    digits: str,
    once_token: str,
) -> None:
    """Let the works take an item off, at the price and date that were read.

    `read` has `agreement` and `event` as the page had them. Raise what `weigh_hand_over` raises,
    Refused with key `digits`, RateLimited, or Overtaken. Pressing twice is once.
    """
    given = digits_in(digits)
    with unit.read() as session:
        behind(session, token, unit.now(), Job.id)
        if earlier_answer(session, once_token, VERB) is not None:
            return
    weighed = weigh_hand_over(unit, token, name)
    if weighed.agreement != read.get("agreement"):
        raise Overtaken(CHANGED)
    expected_event_id = int(read.get("event") or 0)
    # a wrong try must stay counted, so the refusal comes after the transaction
    if not _hand_over(
        unit, token, weighed, given, expected_event_id=expected_event_id, once_token=once_token
    ):
        raise Refused(WRONG, key="digits")


@transactional
def _hand_over(
    unit: UnitOfWork,
    session: Session,
    token: str,
    weighed: HandOver,
    given: str,
    *,
    expected_event_id: int,
    once_token: str,
) -> bool:
    """Return whether the digits were right, and the order is changed."""
    job = lock_job(session, behind(session, token, unit.now(), Job.id).id)
    if not are_right(unit, session, job.token, job.customer.phone, given):
        return False
    _put_in(unit, session, job, weighed, expected_event_id=expected_event_id, once_token=once_token)
    return True


@idempotent(VERB)
def _put_in(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    weighed: HandOver,
    *,
    expected_event_id: int,
    once_token: str,  # taken by the decorator
) -> None:
    refuse_if_overtaken(session, job.id, expected_event_id)
    if not job.state.is_expected:
        raise Refused(NOT_EXPECTED)
    shop = shop_as_booked(unit, session, job)
    after = handed_over(declared_of(job), weighed.task.part_set.key, weighed.items)
    order = as_booked(after, shop, job)
    job.promise_at = weighed.ready_at
    cause = Cause(unit.now(), None)
    change_order(session, job, order, weighed.total.minor, shop, cause=cause)
    says = Message("{items}", items=weighed.items)
    session.execute(
        sa.delete(TakenOff).where(
            TakenOff.job_id == job.id,
            TakenOff.set_key == weighed.task.part_set.key,
            TakenOff.item.in_(weighed.items),
        )
    )
    record_event(session, job, EventVerb.HAND_OVER, at=unit.now(), who=None, says=says)


def _longer(
    unit: UnitOfWork, job_id: int, dropoff_at: datetime, before: Declared, after: Declared
) -> int:
    """Return by how many working days the work on the items makes the order later.

    The floor answers for the order as it was and as it would be, so that what others booked
    meanwhile counts in both.
    """
    times = free_times(unit, without=job_id)
    if all(one.start != dropoff_at for one in times.windows):
        times = times.at_once()
    was, now = (_ready(times, unit, one, dropoff_at) for one in (before, after))
    return days_between(times.shop.week, was, now) if was and now else 0


def _ready(
    times: FreeTimes, unit: UnitOfWork, declared: Declared, dropoff_at: datetime
) -> datetime | None:
    shop = times.shop
    order: Assessment = assess(longest_of(declared), shop, shop.day(unit.now()))
    start = dropoff_at if any(one.start == dropoff_at for one in times.windows) else None
    offer = times.offer(order, start)
    return offer.ready_at if offer else None
