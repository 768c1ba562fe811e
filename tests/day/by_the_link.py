"""What customers of the day do by their link: move the drop-off, or call off with money paid."""

from datetime import timedelta
from typing import TYPE_CHECKING

import sqlalchemy as sa

from portal.orders.counter.contact_by_link import ContactChange, change_contact
from portal.orders.counter.customer_changes import (
    call_off_by_link,
    drop_off_change,
    move_by_link,
)
from portal.orders.kernel.notifications import letter_ready, letter_received
from portal.orders.kernel.telling import choose
from portal.orders.office import documents
from portal.orders.office.closures import hit_by, put_week
from portal.shop.states import LetterKind, LetterState
from portal.shop.telling import CHOICES, choice_of
from portal.store.tables import Job, Letter
from tests.factories import a_booked_job, a_job_in_work, a_token, last_event_id

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
    for number in range(size):
        _chooses(day, number)
    _closed_day(day, size)


def _chooses(day: "Day", number: int) -> None:
    """A customer hears of some kinds alone and moves to another address; the old one is told."""
    unit = day.unit
    job = a_job_in_work(unit, first_tag=day.next_tag())
    day.open(job.job_id)
    on = set(day.draw.sample(CHOICES, number % len(CHOICES)))
    choose(unit, job.token, on, by_text=False)
    with unit.read() as session:
        before = session.scalar(sa.select(sa.func.max(Letter.id)))
        old = session.get_one(Job, job.job_id).customer.email
    new = ContactChange(email=f"moved-{number}@example.com")
    change_contact(unit, job.token, new, digits="0123", once_token=a_token())
    unit.write(lambda s: letter_received(unit, s, s.get_one(Job, job.job_id)))
    unit.write(lambda s: letter_ready(unit, s, s.get_one(Job, job.job_id)))
    with unit.read() as session:
        query = sa.select(Letter).where(Letter.job_id == job.job_id, Letter.id > before)
        letters = session.scalars(query).all()
    told = [one for one in letters if one.kind is LetterKind.CONTACT_CHANGED]
    assert [one.to for one in told] == [old]
    for one in letters:
        chosen = choice_of(one.kind)
        assert chosen is None or (chosen in on) == (one.state is LetterState.QUEUED)
    day.said["chose what to be told"] += 1


def _closed_day(day: "Day", size: int) -> None:
    """A day is closed on which several were to come and to fetch; each gets another date."""
    unit, now = day.unit, day.unit.now()
    with unit.read() as session:
        week = unit.shop(session).week
    ahead = week.windows(week.local(now).date(), 9)
    shut = next(one.start for one in ahead if one.start > now + timedelta(days=2))
    comes = [a_booked_job(unit, dropoff=shut - now) for _ in range(size)]
    goes = [a_job_in_work(unit, first_tag=day.next_tag()) for _ in range(size)]
    for job in (*comes, *goes):
        day.open(job.job_id)

    def promise(session) -> None:
        for job in goes:
            session.get_one(Job, job.job_id).promise_at = shut

    unit.write(promise)
    body = dict(documents.document(unit, "week").body)
    closed = f"{shut:%Y-%m-%d}"
    body["closures"] = [*body["closures"], {"from": closed, "to": closed}]
    hits = hit_by(unit, body, None)
    assert {one.job_id for one in hits} >= {one.job_id for one in (*comes, *goes)}
    edition = documents.newest(unit, "week")
    put_week(unit, body, expected_edition_id=edition, who=day.who)
    assert hit_by(unit, body, None) == ()
    with unit.read() as session:
        assert all(session.get_one(Job, one.job_id).promise_at > shut for one in goes)
    for job in comes:
        seen = drop_off_change(unit, job.token)
        one = day.draw.choice(seen.free)
        assert one.offer.start.date() != shut.date()
        event = {"expected_event_id": seen.last_event_id, "once_token": a_token()}
        move_by_link(unit, job.token, one.offer.start, agreed=one.agreement, **event)
    day.said["told of a closed day"] += len(hits)
