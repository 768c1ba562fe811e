"""What customers of the day do by their link: move the drop-off, or call off with money paid."""

from datetime import timedelta
from typing import TYPE_CHECKING

from portal.orders.counter.customer_changes import (
    call_off_by_link,
    drop_off_change,
    move_by_link,
)
from tests.factories import a_booked_job, a_token, last_event_id

if TYPE_CHECKING:
    from tests.day.day import Day


def play(day: "Day", size: int) -> None:
    """Customers who move their drop-off, or call off and get back what they paid."""
    for number in range(size):
        job = a_booked_job(day.unit, dropoff=timedelta(days=4))
        day.open(job.job_id)
        seen = drop_off_change(day.unit, job.token)
        event = {"expected_event_id": seen.last_event_id, "once_token": a_token()}
        if number % 2:
            one = day.draw.choice(seen.free)
            start, agreed = one.offer.start, one.agreement
            move_by_link(day.unit, job.token, start, agreed=agreed, **event)
            day.said["moved by the customer"] += 1
            continue
        day.pay(job.job_id, 5_000)
        event["expected_event_id"] = last_event_id(day.unit, job)
        call_off_by_link(day.unit, job.token, digits="0123", **event)
        purse = day.purses[job.job_id]
        purse.price, purse.off = 0, 0
        day.said["cancelled by the customer"] += 1
        day.give_back(job.job_id)
