"""Letters about a job, queued in the transaction of their cause."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from hashlib import blake2s
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.refit import guide_for, handbook_for
from portal.notices.letters import (
    AnyLetter,
    FindingRaised,
    HandedBack,
    NewDate,
    NotBrought,
    NotFetched,
    OnTime,
    Ready,
    Received,
    StillWaiting,
)
from portal.notices.outbox import queue, take_back_unsent
from portal.notices.sender import sender_of
from portal.orders.kernel.calendar_entries import tyre_shop_calendar
from portal.orders.kernel.job_lock import last_event, parts_of, parts_on_site
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.refit_guide import wheels_of
from portal.orders.kernel.telling import ways_of
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.calendar.week import Week
from portal.shop.codes import shown, status_link
from portal.shop.money import Money
from portal.shop.pricing.statements import date_of_job
from portal.shop.shop import Shop
from portal.shop.states import AnsweredHow, Channel, FindingAnswer, LetterKind
from portal.store.jobs import Finding, HardwareBag, Job

HOURS_TOLD = 3  # so many of the next pickup times stand in the letter
LOOK_AHEAD_DAYS = 21


def letter_received(unit: UnitOfWork, session: Session, job: Job) -> None:
    """Tell the customer that the parts have arrived, and what was changed at the counter."""
    query = sa.select(Finding).where(
        Finding.job_id == job.id,
        Finding.answer == FindingAnswer.ACCEPTED,
        Finding.answered_how == AnsweredHow.COUNTER,
    )
    agreed = session.scalars(query.order_by(Finding.id)).all()
    letter = Received(
        **common_of(unit, job, unit.shop(session)),
        parts=len(parts_on_site(parts_of(session, job.id))),
        bags=_bags(session, job.id),
        date=date_of_job(job.promise_at, job.expected_at, job.expected_unless, job.state),
        agreed=tuple((one.says, Money(one.amount_minor, job.currency)) for one in agreed),
        total=account_of(session, job.id).total if agreed else None,
    )
    queue_about(unit, session, job, letter, "received")


def letter_findings(
    unit: UnitOfWork, session: Session, job: Job, findings: Sequence[Finding]
) -> None:
    """Ask the customer about everything that waits, in one letter.

    One that is still here is replaced, or taken back where nothing waits any more; the same
    question is asked once.
    """
    if not findings:
        take_back_unsent(session, job_id=job.id, kind=LetterKind.FINDING, but="")
        return
    amount = sum(one.amount_minor for one in findings)
    letter = FindingRaised(
        **common_of(unit, job, unit.shop(session)),
        found=tuple((one.says, Money(one.amount_minor, job.currency)) for one in findings),
        amount=Money(amount, job.currency),
        total=account_of(session, job.id).total + Money(amount, job.currency),
        days=sum(one.days for one in findings),
    )
    asked = "-".join(f"{one.id}:{one.amount_minor}" for one in findings)
    digest = blake2s(asked.encode(), digest_size=10).hexdigest()
    take_back_unsent(session, job_id=job.id, kind=letter.kind, but=f"findings-{digest}")
    queue_about(unit, session, job, letter, f"findings-{digest}")


def letter_ready(unit: UnitOfWork, session: Session, job: Job) -> None:
    """Tell the customer that the job can be picked up, when, and where the code is found."""
    shop = unit.shop(session)
    account = account_of(session, job.id)
    letter = Ready(
        **common_of(unit, job, shop),
        parts=len(parts_on_site(parts_of(session, job.id))),
        bags=_bags(session, job.id),
        owed=account.to_pay,
        monthly=account.monthly,
        **_pickup_of(unit, job, shop),
    )
    # ready again after rework is news again
    queue_about(unit, session, job, letter, f"event-{last_event(session, job.id)}")


def letter_handed_back(unit: UnitOfWork, session: Session, job: Job) -> None:
    """Send the refit guide home with the parts."""
    declared = declared_of(job)
    letter = HandedBack(
        **common_of(unit, job, unit.shop(session)),
        steps=guide_for(declared, wheels_of(session, job.id, declared)),
        handbook=handbook_for(declared),
        link_until=job.link_until,
    )
    # handed back again, after a hand-back that was taken back, is news again
    queue_about(unit, session, job, letter, f"event-{last_event(session, job.id)}")


def letter_not_brought(unit: UnitOfWork, session: Session, job: Job) -> None:
    """Ask whether the parts still come."""
    letter = NotBrought(**common_of(unit, job, unit.shop(session)), dropoff_at=job.dropoff_at)
    queue_about(unit, session, job, letter, f"missed-{job.dropoff_at:%Y%m%dT%H%M}")


def letter_not_fetched(unit: UnitOfWork, session: Session, job: Job, *, until: datetime) -> None:
    """Remind the customer that the parts are ready, and until when they are kept."""
    shop = unit.shop(session)
    letter = NotFetched(**common_of(unit, job, shop), until=until, **_pickup_of(unit, job, shop))
    queue_about(unit, session, job, letter, f"event-{last_event(session, job.id)}")


def letter_new_date(  # all named
    unit: UnitOfWork,
    session: Session,
    job: Job,
    *,
    was_at: datetime,
    now_at: datetime,
    because: Message | None = None,
) -> bool:
    """Tell the customer that the date `was_at` can't be kept, and the new one.

    The promise itself stays. At most one letter a day; return whether it is new.
    """
    shop = unit.shop(session)
    letter = NewDate(
        **common_of(unit, job, shop),
        was_at=was_at,
        now_at=now_at,
        because=because,
        calendar=tyre_shop_calendar(unit, job, shop, now_at),
    )
    return queue_about(unit, session, job, letter, _of_today("date", unit, shop))


def letter_on_time(unit: UnitOfWork, session: Session, job: Job, *, was_at: datetime) -> bool:
    """Tell the customer, who was told `was_at`, that the promise holds after all; once a day."""
    shop = unit.shop(session)
    letter = OnTime(
        **common_of(unit, job, shop),
        was_at=was_at,
        promised=job.promise_at,
        calendar=tyre_shop_calendar(unit, job, shop, job.promise_at),
    )
    return queue_about(unit, session, job, letter, _of_today("on-time", unit, shop))


def letter_still_waiting(unit: UnitOfWork, session: Session, job: Job) -> bool:
    """Remind the customer that the job waits for an answer; once a day."""
    shop = unit.shop(session)
    asked = sa.select(Finding.id).where(
        Finding.job_id == job.id, Finding.answer == FindingAnswer.OPEN
    )
    found = session.scalar(asked.limit(1)) is not None
    chooses = any(one.colour_open for one in declared_of(job).sets)
    letter = StillWaiting(**common_of(unit, job, shop), found=found, colour=chooses and not found)
    return queue_about(unit, session, job, letter, _of_today("waiting", unit, shop))


def _of_today(what: str, unit: UnitOfWork, shop: Shop) -> str:
    """Return the cause of a letter that goes out at most once a day."""
    return f"{what}-{shop.day(unit.now()):%Y%m%d}"


def next_pickup_hours(week: Week, now: datetime) -> tuple[tuple[datetime, datetime], ...]:
    """Return the next times at which parts can be picked up, from and until."""
    first = week.local(now).date()
    days = (first + timedelta(days=n) for n in range(LOOK_AHEAD_DAYS))
    coming = [span for day in days for span in week.pickup_hours(day) if span[1] > now]
    return tuple(coming[:HOURS_TOLD])


def common_of(unit: UnitOfWork, job: Job, shop: Shop) -> dict[str, Any]:
    """Return what every letter about a job has."""
    return {
        "sender": sender_of(shop, job.customer.locale, job.customer.units),
        "locale": job.customer.locale,
        "link": status_link(unit.base_url, job.token),
        "code": shown(job.code),
        "name": job.customer.name,
    }


def _pickup_of(unit: UnitOfWork, job: Job, shop: Shop) -> dict[str, Any]:
    hours = next_pickup_hours(shop.week, unit.now())
    return {"with_code": bool(job.customer.phone), "hours": hours}


def queue_about(  # all named
    unit: UnitOfWork,
    session: Session,
    job: Job,
    letter: AnyLetter,
    cause: str,
    *,
    wait: timedelta = timedelta(),
) -> bool:
    """Queue a letter about a job, once for each cause; return whether it is new.

    It leaves after `wait`, so that a later one may take its place.
    """
    if job.customer.erased:  # there is nobody left to tell
        return False
    new = False
    for way in ways_of(unit, session, job, letter.kind, wait):
        queued = queue(
            session,
            letter,
            job_id=job.id,
            cause=cause,
            to=_address_of(job, way.channel),
            at=unit.now(),
            random_bytes=unit.random_bytes,
            way=way,
        )
        new = new or queued
    return new


def _address_of(job: Job, channel: Channel) -> str:
    if channel is Channel.PUSH:
        return "push"  # to every browser that shows messages when it is sent
    return job.customer.phone if channel is Channel.TEXT else job.customer.email


def _bags(session: Session, job_id: int) -> int:
    query = sa.select(sa.func.count()).where(HardwareBag.job_id == job_id, HardwareBag.present)
    return session.scalar(query) or 0
