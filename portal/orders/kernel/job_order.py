"""What a job holds of its order: written whole whenever the order is, and read as it was told."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from sqlalchemy.orm import Session

from portal.craft.declared import read_declared, write_declared
from portal.craft.messages import CraftError
from portal.craft.parts import Declared
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.firms import shop_for_firm
from portal.orders.kernel.job_lock import NOT_HERE, parts_of
from portal.orders.kernel.posting import Cause, post_price
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.kernel.wording import names_of, summary_of
from portal.orders.kernel.work_card import give_work
from portal.shop.assessment.assess import Assessment, assess
from portal.shop.assessment.open_cases import cases_of
from portal.shop.assessment.stored import read_assessment, write_assessment
from portal.shop.pricing.quote import Quote, read_quote, write_quote
from portal.shop.shop import Shop
from portal.shop.states import Arrival
from portal.store.jobs import Job, Part


def shop_as_booked(unit: UnitOfWork, session: Session, job: Job) -> Shop:
    """Return the shop of the day of a booking, with every powder that was booked.

    A powder may leave the list; a job booked with it keeps it. A firm's job has its firm's prices.
    """
    shop = shop_for_firm(unit, session, job.firm_id, at=job.booked_at)
    coats = [coat for one in order_of(job, shop).sets if one.coats for coat in one.coats.coats]
    gone = {c.powder.code: c.powder for c in coats if c.powder.code not in shop.stock}
    if not gone:
        return shop
    return replace(shop, practice=replace(shop.practice, stock={**shop.stock, **gone}))


def put_order(job: Job, order: Assessment, shop: Shop) -> None:
    """Let a job say what an order was assessed as: what was declared, its words and its price.

    With nothing left of the order its old name still says what it was.
    """
    put_declared(job, order.declared)
    job.rush = order.declared.rush
    job.assessed = write_assessment(order)
    job.quote = write_quote(order.quote)
    job.total_minor = order.quote.total.minor
    if order.sets:
        job.summary = summary_of(order.appraisal, shop.stock)
    cases = cases_of(order.declared, shop.practice)
    if cases is None:
        # one day alone as soon as nothing is open any more
        job.expected_at, job.expected_unless = None, None
    elif job.expected_unless:
        job.expected_unless = cases.slow


def put_declared(job: Job, declared: Declared) -> None:
    """Store what is ordered; refuse what nobody could read again, such as a control character."""
    written = write_declared(declared)
    try:
        read_declared(written)
    except CraftError as wrong:
        raise Refused(wrong.sentence, key=wrong.key) from None
    job.declared = written


def put_parts(parts: Iterable[Part], order: Assessment, shop: Shop) -> None:
    """Write name and work of every part, for the sets that changed as for those that did not.

    `parts` are in their order: a damage may be on the first ones of a set alone.
    """
    names = names_of(order.appraisal, shop.stock)
    places: Counter[str] = Counter()
    for part in parts:
        answer = order.of_set(part.set_key)
        if answer is None:
            continue
        part.label = names[part.set_key].of_one
        if part.arrived in NOT_HERE:
            continue
        place = places[part.set_key]
        places[part.set_key] += 1
        if answer.refused:
            part.arrived = Arrival.TURNED_AWAY
        else:
            give_work(part, order, place)


def change_order(
    session: Session, job: Job, order: Assessment, total_minor: int, shop: Shop, *, cause: Cause
) -> None:
    """Put another order into a job and its parts, at the sum that was agreed, in minor units.

    The account of the job follows.
    """
    put_order(job, order.at_agreed(total_minor), shop)
    session.flush()
    post_price(session, job, cause)
    put_parts(parts_of(session, job.id), order, shop)
    session.flush()


def declared_of(job: Any) -> Declared:
    """Return what is ordered, without what trade and shop say of it: the column `declared`."""
    return read_declared(job.declared)


def quote_of(job: Any) -> Quote | None:
    """Return the price that was agreed, line by line: the column `quote`, where there is one."""
    return read_quote(job.quote) if job.quote else None


def stored_order(job: Any) -> Assessment | None:
    """Return the order of a job as it was told: its columns `declared`, `assessed` and `quote`.

    None for a job from before assessments were kept: nothing is claimed of what it was told.
    """
    if job.assessed is None:
        return None
    return read_assessment(job.assessed, declared_of(job), read_quote(job.quote))


def order_of(job: Any, shop: Shop) -> Assessment:
    """Return the order of a job as it was told.

    A job from before assessments were kept is assessed by its `booked_at` under `shop`, which is
    the edition of that day.
    """
    order = stored_order(job)
    if order is not None:
        return order
    order, price = assess(declared_of(job), shop, shop.day(job.booked_at)), quote_of(job)
    return replace(order, quote=price) if price else order
