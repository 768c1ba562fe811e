"""News that time alone brings: the day before the drop-off, and some days after the pickup."""

from datetime import timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.parts import Item, PartKind
from portal.craft.preparing import items_of
from portal.craft.refit import recheck
from portal.notices.letters import ComingUp, Recheck
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.notifications import common_of, queue_about
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.moves import JobState
from portal.shop.shop import Shop
from portal.shop.telling import RECHECK_AFTER, reminded_at
from portal.store.jobs import Job
from portal.store.letters import Letter
from portal.store.preparing import TakenOff

A_DAY = timedelta(days=1)
# who collected longer ago has driven far by now: nobody is reminded late
RECHECK_UNTIL = RECHECK_AFTER + 2 * A_DAY


@transactional
def remind(unit: UnitOfWork, session: Session) -> int:
    """Queue the reminders that are due, each once; return how many are new."""
    shop = unit.shop(session)
    return _of_drop_offs(unit, session, shop) + _of_nuts(unit, session, shop)


def _of_drop_offs(unit: UnitOfWork, session: Session, shop: Shop) -> int:
    now = unit.now()
    soon = sa.select(Job).where(
        Job.state == JobState.BOOKED, Job.dropoff_at > now, Job.dropoff_at < now + 2 * A_DAY
    )
    due = 0
    for job in session.scalars(soon).all():
        at = reminded_at(shop.week, job.dropoff_at)
        # who booked after that has read all of it just now
        if at <= now and job.booked_at < at:
            due += _remind(unit, session, job, shop)
    return due


def _remind(unit: UnitOfWork, session: Session, job: Job, shop: Shop) -> bool:
    done = session.execute(
        sa.select(TakenOff.set_key, TakenOff.item).where(TakenOff.job_id == job.id)
    )
    off = {(key, Item(item)) for key, item in done}
    left = [one for one in items_of(declared_of(job)) if one not in off]
    letter = ComingUp(
        **common_of(unit, job, shop),
        dropoff_at=job.dropoff_at,
        dropoff_until=job.dropoff_until,
        to_take_off=tuple(Message(item.title) for item in dict.fromkeys(i for _, i in left)),
    )
    return queue_about(unit, session, job, letter, f"coming-{job.dropoff_at:%Y%m%dT%H%M}")


def _of_nuts(unit: UnitOfWork, session: Session, shop: Shop) -> int:
    now = unit.now()
    has_letter = sa.exists().where(Letter.job_id == Job.id, Letter.kind == Recheck.kind)
    driven = sa.select(Job).where(
        Job.state == JobState.HANDED_BACK,
        Job.handed_back_at <= now - RECHECK_AFTER,
        Job.handed_back_at > now - RECHECK_UNTIL,
        ~has_letter,
    )
    due = 0
    for job in session.scalars(driven).all():
        if any(one.kind is PartKind.WHEEL for one in declared_of(job).sets):
            letter = Recheck(**common_of(unit, job, shop), says=recheck())
            due += queue_about(unit, session, job, letter, "recheck")
    return due
