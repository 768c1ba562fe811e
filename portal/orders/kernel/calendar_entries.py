"""The appointments of a job: the drop-off, and the day for a tyre shop to fit the tyres again."""

from datetime import datetime, timedelta
from urllib.parse import urlsplit

from portal.craft.messages import Message
from portal.craft.preparing import leaves_without_tyres
from portal.notices.calendar import DropOffEntry, drop_off_calendar
from portal.notices.sender import sender_of
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.codes import shown, status_link
from portal.shop.shop import Shop
from portal.store.jobs import Job

VISIT = timedelta(hours=1)  # how long it stands in the calendar; the tyre shop says how long it is


def calendar_of(unit: UnitOfWork, job: Job, shop: Shop) -> str:
    """Return the file of a job's appointments, one object after the other (RFC 5545 3.4)."""
    drop_off = drop_off_calendar(drop_off_of(job, shop, unit.base_url))
    return drop_off + tyre_shop_calendar(unit, job, shop, job.promise_at)


def tyre_shop_calendar(unit: UnitOfWork, job: Job, shop: Shop, ready_at: datetime) -> str:
    """Return the file of the tyre shop's visit; nothing where there is none."""
    entry = tyre_shop_of(unit, job, shop, ready_at)
    return drop_off_calendar(entry) if entry else ""


def drop_off_of(job: Job, shop: Shop, base_url: str) -> DropOffEntry:
    """Return the drop-off of a job; its uid stays the same whatever becomes of the job."""
    link = status_link(base_url, job.token)
    host = urlsplit(base_url).hostname or "localhost"
    return DropOffEntry(
        uid=f"{job.code.lower()}-drop-off@{host}",
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


def tyre_shop_of(unit: UnitOfWork, job: Job, shop: Shop, ready_at: datetime) -> DropOffEntry | None:
    """Return the tyre shop's visit once the wheels are ready; None where there is none.

    It is dated by the date that the customer was told, so each letter about another date moves it.
    """
    declared = declared_of(job)
    if not any(leaves_without_tyres(one, declared) for one in declared.sets):
        return None
    host = urlsplit(unit.base_url).hostname or "localhost"
    now = unit.now()
    return DropOffEntry(
        uid=f"{job.code.lower()}-tyre-shop@{host}",
        # the date has many reasons to change; the time that has passed rises with each of them
        sequence=int((now - job.booked_at).total_seconds()),
        start=ready_at,
        end=ready_at + VISIT,
        made_at=now,
        sender=sender_of(shop, job.customer.locale, job.customer.units),
        locale=job.customer.locale,
        title=Message("Tyre shop: have the tyres fitted again"),
        about=Message(
            "From this time on your wheels are ready at {shop}. Make an appointment with your tyre "
            "shop after it, and take our sheet along: {link}/tyre-shop",
            shop=shop.name,
            link=status_link(unit.base_url, job.token),
        ),
        link=status_link(unit.base_url, job.token),
        called_off=job.state.is_off,
        elsewhere=True,
    )
