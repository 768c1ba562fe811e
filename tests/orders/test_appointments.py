"""A drop-off is moved: the place, the promise, the letter and the calendar file go with it."""

from datetime import timedelta

import icalendar
import pytest
import sqlalchemy as sa

from portal.orders.counter import appointments, cancellation
from portal.orders.kernel.errors import Overtaken, Refused, Taken
from portal.orders.kernel.job_lock import last_event
from portal.shop.moves import JobState
from portal.shop.states import LetterKind
from portal.store.tables import Booking, Job, Letter
from tests.factories import WHEELS, a_booked_job, a_job_in_work, events, state


def job_row(unit, job) -> Job:
    with unit.read() as session:
        return session.get(Job, job.job_id)


def move(unit, job, number: int = 5, *, once: str = "once-token", **more):
    seen = appointments.appointment_view(unit, job.code)
    one = seen.free[number]
    told = {"agreed": one.agreement, "expected_event_id": seen.last_event_id, **more}
    appointments.move_appointment(
        unit, job.job_id, one.offer.start, once_token=once, who=None, **told
    )
    return one.offer


@pytest.mark.postgres
def test_the_place_the_promise_and_the_calendar_go_with_it(unit) -> None:
    job = a_booked_job(unit)
    offer = move(unit, job)
    row = job_row(unit, job)
    assert (row.dropoff_at, row.dropoff_until) == (offer.start, offer.end)
    assert row.promise_at == row.promised_first_at == offer.ready_at
    with unit.read() as session:
        assert session.scalars(sa.select(Booking.window_start)).all() == [offer.start]
        letter = session.scalars(sa.select(Letter)).one()
    assert letter.kind is LetterKind.MOVED
    event = icalendar.Calendar.from_ical(letter.calendar).walk("VEVENT")[0]
    assert (event["SEQUENCE"], event["STATUS"]) == (1, "CONFIRMED")
    assert event["DTSTART"].dt == offer.start


def test_a_second_move_sends_a_second_letter_with_the_next_sequence(unit) -> None:
    job = a_booked_job(unit)
    move(unit, job)
    move(unit, job, 9, once="another-token")
    with unit.read() as session:
        letters = session.scalars(sa.select(Letter).order_by(Letter.id)).all()
        assert len(session.scalars(sa.select(Booking)).all()) == 1
    found = [icalendar.Calendar.from_ical(one.calendar).walk("VEVENT")[0] for one in letters]
    assert [one["SEQUENCE"] for one in found] == [1, 2]
    assert found[0]["UID"] == found[1]["UID"]


def test_a_press_that_comes_twice_moves_once(unit) -> None:
    job = a_booked_job(unit)
    offer = move(unit, job)
    appointments.move_appointment(
        unit,
        job.job_id,
        offer.start,
        agreed="",
        expected_event_id=0,
        once_token="once-token",
        who=None,
    )
    assert len(events(unit, job, "reschedule")) == 1


def test_who_did_not_come_is_expected_again(unit, clock) -> None:
    job = a_booked_job(unit)
    clock.advance(hours=3)
    cancellation.mark_no_show(unit, job.job_id, who=None)
    move(unit, job)
    assert state(unit, job) is JobState.BOOKED


def test_parts_that_are_here_have_no_appointment_any_more(unit) -> None:
    job = a_job_in_work(unit, WHEELS)
    with pytest.raises(Refused):
        appointments.appointment_view(unit, job.code)


def test_a_page_that_others_overtook_is_told(unit) -> None:
    job = a_booked_job(unit)
    with unit.read() as session:
        before = last_event(session, job.job_id)
    move(unit, job)
    with pytest.raises(Overtaken):
        move(unit, job, 8, once="another-token", expected_event_id=before)


def test_another_date_than_was_read_is_not_promised(unit) -> None:
    job = a_booked_job(unit)
    free = appointments.appointment_view(unit, job.code).free
    with pytest.raises(Overtaken):
        move(unit, job, 5, agreed=free[5].agreement[:4] + "20200101T0900+0000")


def test_a_full_window_is_not_offered(unit) -> None:
    job, *others = (a_booked_job(unit, name=f"Robin {n}") for n in range(30))
    first = appointments.appointment_view(unit, job.code).free[0].offer
    for n in range(first.places):
        other = others[n]
        move(unit, other, 0, once=f"token-number-{n}")
    starts = [one.offer.start for one in appointments.appointment_view(unit, job.code).free]
    assert first.start not in starts
    with pytest.raises(Taken):
        appointments.move_appointment(
            unit,
            job.job_id,
            first.start,
            agreed="",
            expected_event_id=0,
            once_token="late-token",
            who=None,
        )


def test_calling_off_confirms_it_and_takes_the_drop_off_out_of_the_calendar(unit) -> None:
    job = a_booked_job(unit)
    offer = move(unit, job)
    cancellation.call_off(unit, job.job_id, "sold the car", who=None)
    with unit.read() as session:
        assert session.scalars(sa.select(Booking)).all() == []
        letter = session.scalars(sa.select(Letter).order_by(Letter.id.desc())).first()
    assert letter.kind is LetterKind.CALLED_OFF
    event = icalendar.Calendar.from_ical(letter.calendar).walk("VEVENT")[0]
    assert (event["SEQUENCE"], event["STATUS"]) == (2, "CANCELLED")
    assert offer.start - event["DTSTART"].dt == timedelta(0)
