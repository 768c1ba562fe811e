"""Rows made by hand, for tests of what lies below the verbs. Most tests book through the verbs."""

import itertools
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from portal.orders.kernel.posting import Cause, post_price
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Customer, Job, JobForecast, LedgerEntry, Part
from portal.store.types import verbatim

_numbers = itertools.count(1)

WHO = ("name", "email", "phone", "tell_by", "locale", "units")


def a_job_row(session: Session, at: datetime, **over: Any) -> Job:
    number = next(_numbers)
    values: dict[str, Any] = {
        "code": f"T{number:07d}",
        "token": f"TOKEN{number:021d}",
        "pickup_code": "2345",
        "state": JobState.BOOKED,
        "booked_at": at,
        "declared": {"sets": []},
        "summary": verbatim("4 wheels, bronze"),
        "quote": {},
        "currency": "GBP",
        "total_minor": 40_000,
        "name": "Robin Sample",
        "email": "robin@example.com",
        "phone": "+441632960001",
        "tell_by": "email",
        "dropoff_at": at,
        "dropoff_until": at + timedelta(minutes=30),
        "promise_at": at + timedelta(days=7),
        "promised_first_at": at + timedelta(days=7),
    }
    values |= over
    paid = values.pop("paid_minor", 0)
    who = {name: values.pop(name) for name in WHO if name in values}
    job = Job(customer=Customer(**who), **values)
    session.add(job)
    session.flush()
    post_price(session, job, Cause(at, None))
    if paid:
        row = LedgerEntry(job_id=job.id, kind="payment", amount_minor=-paid, how="cash", at=at)
        session.add(row)
    session.flush()
    return job


def a_part_row(session: Session, job: Job, at: datetime, **over: Any) -> Part:
    number = session.query(Part).filter_by(job_id=job.id).count() + 1
    values: dict[str, Any] = {
        "job_id": job.id,
        "number": number,
        "set_key": "A",
        "label": verbatim(f"Wheel {number}"),
        "stage": PartStage.EXPECTED,
        "coats": 1,
        "needs_strip": False,
        "needs_refit": False,
        "work": {},
        "stage_since": at,
    }
    part = Part(**{**values, **over})
    session.add(part)
    session.flush()
    return part


def forecast_of(
    session: Session,
    job_id: int,
    safe_at: datetime,
    likely_at: datetime | None = None,
    station: PartStage | None = None,
    *,
    told_at: datetime | None = None,
    early_from: date | None = None,
) -> None:
    """Put a forecast of a job in the place of the one that it has."""
    likely = likely_at or safe_at
    row = JobForecast(
        job_id=job_id,
        safe_at=safe_at,
        likely_at=likely,
        station=station,
        made_at=likely,
        told_at=told_at,
        early_from=early_from,
    )
    session.merge(row)
    session.flush()


def foreseen(session: Session, job_id: int) -> JobForecast | None:
    """Return the forecast of a job."""
    return session.get(JobForecast, job_id)
