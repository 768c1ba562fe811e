"""The letter that confirms a booking, with the drop-off as a calendar file."""

from urllib.parse import urlsplit

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.calendar import DropOffEntry, drop_off_calendar
from portal.notices.letters import Booked, sender_of
from portal.notices.outbox import queue
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.assessment.assess import Assessment
from portal.shop.codes import shown, status_link
from portal.shop.pricing.statements import date_of_job
from portal.shop.shop import Shop
from portal.store.tables import Job


def queue_booked(
    unit: UnitOfWork, session: Session, job: Job, order: Assessment, shop: Shop
) -> None:
    """Queue the letter in the booking's own transaction."""
    deposit = order.quote.deposit
    letter = Booked(
        sender=sender_of(shop, job.customer.locale, job.customer.units),
        locale=job.customer.locale,
        link=status_link(unit.base_url, job.token),
        code=shown(job.code),
        name=job.customer.name,
        summary=job.summary,
        dropoff_at=job.dropoff_at,
        dropoff_until=job.dropoff_until,
        date=date_of_job(job.promise_at, job.expected_at, job.expected_unless, job.state),
        price=order.price.sentence,
        colour_open=any(one.colour_open for one in order.declared.sets),
        deposit=deposit if deposit.minor else None,
        calendar=drop_off_calendar(drop_off_of(job, shop, unit.base_url)),
    )
    queue(
        session,
        letter,
        job_id=job.id,
        cause="booking",
        to=job.customer.email,
        at=unit.now(),
        random_bytes=unit.random_bytes,
    )


def drop_off_of(job: Job, shop: Shop, base_url: str) -> DropOffEntry:
    """Return the drop-off of a job; its uid stays the same whatever becomes of the job."""
    link = status_link(base_url, job.token)
    house = urlsplit(base_url).hostname or "localhost"
    return DropOffEntry(
        uid=f"{job.code.lower()}-drop-off@{house}",
        sequence=job.calendar_sequence,
        start=job.dropoff_at,
        end=job.dropoff_until,
        made_at=job.booked_at,
        sender=sender_of(shop, job.customer.locale, job.customer.units),
        locale=job.customer.locale,
        title=Message("Drop off your parts at {shop}", shop=shop.name),
        about=Message(
            "{summary}. Job {code}. Bring your slip: {link}",
            summary=job.summary,
            code=shown(job.code),
            link=link,
        ),
        link=link,
        called_off=job.state.is_off,
    )
