"""The letters about a booking, with its appointments as a calendar file."""

from datetime import datetime

from sqlalchemy.orm import Session

from portal.notices.letters import Booked, CalledOff, DropOffMoved
from portal.orders.kernel.calendar_entries import calendar_of
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.notifications import common_of, queue_about
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.assessment.assess import Assessment
from portal.shop.pricing.statements import date_of_job
from portal.shop.shop import Shop
from portal.store.tables import Job


def queue_booked(
    unit: UnitOfWork, session: Session, job: Job, order: Assessment, shop: Shop
) -> None:
    """Queue the letter in the booking's own transaction."""
    deposit = order.quote.deposit
    letter = Booked(
        **common_of(unit, job, shop),
        summary=job.summary,
        dropoff_at=job.dropoff_at,
        dropoff_until=job.dropoff_until,
        date=date_of_job(job.promise_at, job.expected_at, job.expected_unless, job.state),
        price=order.price.sentence,
        change_until=shop.changes.open_until(job.dropoff_at),
        colour_open=any(one.colour_open for one in order.declared.sets),
        deposit=deposit if deposit.minor else None,
        calendar=calendar_of(unit, job, shop),
    )
    queue_about(unit, session, job, letter, "booking")


def queue_moved(unit: UnitOfWork, session: Session, job: Job, was_at: datetime) -> None:
    """Tell the customer of another drop-off time, with the calendar file that takes its place."""
    shop = unit.shop(session)
    letter = DropOffMoved(
        **common_of(unit, job, shop),
        was_at=was_at,
        dropoff_at=job.dropoff_at,
        dropoff_until=job.dropoff_until,
        date=date_of_job(job.promise_at, job.expected_at, job.expected_unless, job.state),
        calendar=calendar_of(unit, job, shop),
    )
    queue_about(unit, session, job, letter, f"moved-{job.calendar_sequence}")


def queue_called_off(unit: UnitOfWork, session: Session, job: Job) -> None:
    """Confirm that an order was called off, and take its drop-off out of the calendar."""
    shop = unit.shop(session)
    job.calendar_sequence += 1
    left = account_of(session, job.id)
    letter = CalledOff(
        **common_of(unit, job, shop),
        dropoff_at=job.dropoff_at,
        given_back=left.credit if left.credit.minor else None,
        kept=left.total if left.total.minor else None,
        calendar=calendar_of(unit, job, shop),
    )
    queue_about(unit, session, job, letter, "called-off")
