"""A customer moves the drop-off, or calls the order off, by the link; the shop's rules hold."""

from dataclasses import replace
from datetime import timedelta

import icalendar
import pytest
import sqlalchemy as sa

from portal.orders.counter import appointments, cancellation, check_in, payments
from portal.orders.counter.customer_changes import (
    call_off_by_link,
    change_until,
    drop_off_change,
    move_by_link,
)
from portal.orders.counter.link_digits import MOST_WRONG
from portal.orders.counter.today_view import today
from portal.orders.kernel.errors import Overtaken, RateLimited, Refused
from portal.orders.kernel.ledger import account_of
from portal.shop.moves import JobState
from portal.shop.states import LetterKind, PaymentMethod
from portal.shop.verbs import EventVerb
from portal.shop.works import ChangeRules
from portal.store.tables import Booking, Job, Letter
from tests.factories import a_booked_job, a_job_in_work, a_token, events, last_event_id, state

DIGITS = "0123"


def booked(unit):
    """A job whose parts come in three days."""
    return a_booked_job(unit, dropoff=timedelta(days=3))


def account(unit, job):
    with unit.read() as session:
        return account_of(session, job.job_id)


def pay(unit, job, minor: int) -> None:
    payments.take_payment(
        unit, job.job_id, minor, PaymentMethod.CARD, once_token=a_token(), who=None
    )


def move(unit, job, number: int = 5, **more):
    seen = drop_off_change(unit, job.token)
    one = seen.free[number]
    told = {"agreed": one.agreement, "expected_event_id": seen.last_event_id, **more}
    move_by_link(unit, job.token, one.offer.start, **{"once_token": a_token(), **told})
    return one.offer


def call_off(unit, job, digits: str = "", **more) -> None:
    told = {"expected_event_id": last_event_id(unit, job), "once_token": a_token(), **more}
    call_off_by_link(unit, job.token, digits=digits, **told)


@pytest.mark.postgres
def test_the_time_its_promise_and_the_calendar_move_with_it(unit) -> None:
    job = booked(unit)
    offer = move(unit, job)
    with unit.read() as session:
        row = session.get(Job, job.job_id)
        assert (row.dropoff_at, row.promise_at) == (offer.start, offer.ready_at)
        letter = session.scalars(sa.select(Letter)).one()
    event = icalendar.Calendar.from_ical(letter.calendar).walk("VEVENT")[0]
    assert (letter.kind, event["SEQUENCE"], event["DTSTART"].dt) == (
        LetterKind.MOVED,
        1,
        offer.start,
    )
    (moved,) = events(unit, job, "reschedule")
    assert moved.person_id is None


def test_calling_off_costs_nothing_and_frees_the_place(unit) -> None:
    job = booked(unit)
    move(unit, job)
    call_off(unit, job)
    assert state(unit, job) is JobState.CALLED_OFF
    assert account(unit, job).owed.minor == 0
    with unit.read() as session:
        assert session.scalars(sa.select(Booking)).all() == []
        letters = session.scalars(sa.select(Letter).order_by(Letter.id)).all()
    found = [icalendar.Calendar.from_ical(one.calendar).walk("VEVENT")[0] for one in letters]
    assert [(one["SEQUENCE"], one["STATUS"]) for one in found] == [
        (1, "CONFIRMED"),
        (2, "CANCELLED"),
    ]
    assert found[0]["UID"] == found[1]["UID"]


def test_a_paid_deposit_comes_back_whole_unless_the_shop_keeps_a_share(unit, monkeypatch) -> None:
    whole, shared = booked(unit), booked(unit)
    for job in (whole, shared):
        pay(unit, job, 5_000)
    call_off(unit, whole, DIGITS)
    assert account(unit, whole).credit.minor == 5_000

    with unit.read() as session:
        shop = replace(unit.shop(session), changes=ChangeRules(deposit_kept_percent=25))
    monkeypatch.setattr(type(unit), "shop", lambda *_args, **_at: shop)
    seen = drop_off_change(unit, shared.token)
    deposit = min(5_000, account(unit, shared).deposit.minor)
    assert seen.kept.minor == round(deposit / 4)
    call_off(unit, shared, DIGITS)
    assert account(unit, shared).total == seen.kept
    assert account(unit, shared).credit == seen.given_back


def test_what_was_paid_asks_for_the_telephone_five_times(unit, clock) -> None:
    job = booked(unit)
    pay(unit, job, 5_000)
    wrong = 0
    while wrong < MOST_WRONG:
        try:
            call_off(unit, job, "9999")
        except RateLimited as must:
            clock.advance(seconds=must.seconds)
        except Refused:
            wrong += 1
    clock.advance(minutes=20)
    with pytest.raises(Refused, match="Too many wrong tries"):
        call_off(unit, job, DIGITS)
    assert state(unit, job) is JobState.BOOKED


def test_nothing_typed_is_no_wrong_try(unit) -> None:
    job = booked(unit)
    pay(unit, job, 5_000)
    for _ in range(9):
        with pytest.raises(Refused, match="last four digits"):
            call_off(unit, job, "")
    call_off(unit, job, DIGITS)
    assert state(unit, job) is JobState.CALLED_OFF


def test_a_press_that_comes_twice_counts_once(unit) -> None:
    job = booked(unit)
    once, before = a_token(), last_event_id(unit, job)
    for _ in range(2):
        call_off(unit, job, once_token=once, expected_event_id=before)
    assert len(events(unit, job, "call_off")) == 1


@pytest.mark.parametrize("hours", [2, 48])
def test_after_the_shops_hour_only_the_telephone_helps(unit, clock, monkeypatch, hours) -> None:
    job = booked(unit)
    with unit.read() as session:
        shop = replace(unit.shop(session), changes=ChangeRules(until_hours=hours))
        row = session.get(Job, job.job_id)
        until = change_until(shop, row, unit.now())
    assert until == row.dropoff_at - timedelta(hours=hours)
    monkeypatch.setattr(type(unit), "shop", lambda *_args, **_at: shop)
    seen = drop_off_change(unit, job.token)
    clock.advance(seconds=(until - unit.now()).total_seconds())
    assert drop_off_change(unit, job.token).free == ()
    with pytest.raises(Refused, match="too late"):
        call_off(unit, job)
    with pytest.raises(Refused, match="too late"):
        move_by_link(
            unit,
            job.token,
            seen.free[0].offer.start,
            agreed=seen.free[0].agreement,
            expected_event_id=seen.last_event_id,
            once_token=a_token(),
        )


def test_who_did_not_come_chooses_another_time(unit, clock) -> None:
    job = booked(unit)
    clock.advance(days=3, hours=3)
    move(unit, job)
    assert state(unit, job) is JobState.BOOKED
    clock.advance(days=9)
    cancellation.mark_no_show(unit, job.job_id, who=None)
    move(unit, job, 3)
    assert state(unit, job) is JobState.BOOKED


def test_parts_that_came_meanwhile_are_not_moved_or_called_off(unit) -> None:
    job = a_job_in_work(unit)
    with pytest.raises(Refused):
        drop_off_change(unit, job.token)
    with pytest.raises(Refused):
        call_off(unit, job)


def test_what_the_counter_did_meanwhile_is_told(unit) -> None:
    job = booked(unit)
    before = last_event_id(unit, job)
    seen = drop_off_change(unit, job.token)
    check_in.as_declared(unit, job.job_id, who=None)
    with pytest.raises(Overtaken):
        call_off(unit, job, expected_event_id=before)
    with pytest.raises(Overtaken):
        move(unit, job, expected_event_id=seen.last_event_id)


def test_times_with_one_promise_are_told_apart(unit) -> None:
    job = booked(unit)
    free = appointments.appointment_view(unit, job.code).free
    assert len({one.name for one in free}) == len(free)
    assert {appointments.named(one.name) for one in free} == {
        (one.offer.start, one.agreement) for one in free
    }


def test_today_tells_staff_what_customers_changed_and_what_goes_back(unit) -> None:
    moved, off = booked(unit), booked(unit)
    move(unit, moved)
    pay(unit, off, 5_000)
    call_off(unit, off, DIGITS)
    told = [(one.row.code, one.verb, one.credit.minor) for one in today(unit).changed]
    assert told == [
        (off.code, EventVerb.CALL_OFF, 5_000),
        (moved.code, EventVerb.RESCHEDULE, 0),
    ]
