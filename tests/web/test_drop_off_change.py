"""The status page leads to another drop-off time, and to calling off."""

from datetime import timedelta

import pytest

from portal.orders.counter import payments
from portal.orders.counter.appointments import named
from portal.shop.moves import JobState
from portal.shop.states import PaymentMethod
from portal.store.tables import Job
from tests.factories import a_booked_job, a_job_in_work, a_token, state
from tests.web.hand import Hand


def booked(unit):
    """A job whose parts come in three days."""
    return a_booked_job(unit, dropoff=timedelta(days=3))


@pytest.fixture
def visitor(client):
    return lambda job: Hand(client, f"/J/{job.token}")


def times(hand: Hand) -> list[str]:
    return [one.get("value") for one in hand.page.all("input") if one.get("name") == "slot"]


def test_the_drop_off_is_moved_to_the_very_time_that_was_chosen(visitor, unit) -> None:
    job = booked(unit)
    hand = visitor(job)
    assert any(a.get("href") == f"/J/{job.token}/time" for a in hand.page.all("a"))
    hand.go(f"/J/{job.token}/time")
    for number in (1, 2):
        chosen = times(hand)[number]
        hand.send("/time", slot=chosen)
        assert hand.told[0].startswith("Your drop-off is now on")
        with unit.read() as session:
            assert session.get(Job, job.job_id).dropoff_at == named(chosen)[0]
        hand.go(f"/J/{job.token}/time")


def test_without_a_time_and_with_one_that_is_gone_nothing_is_lost(visitor, unit) -> None:
    job = booked(unit)
    hand = visitor(job)
    for slot, says in (
        (None, "Choose the new time."),
        ("20200101T0900+0000.0.-.x", "This time is no longer free. Choose another one."),
    ):
        hand.go(f"/J/{job.token}/time")
        hand.send("/time", **({"slot": slot} if slot else {}))
        assert hand.at.status_code == 422
        assert hand.wrong("slot") == f"Error: {says}"


def test_calling_off_says_what_becomes_of_the_deposit(visitor, unit) -> None:
    free, paid = booked(unit), booked(unit)
    payments.take_payment(
        unit, paid.job_id, 5_000, PaymentMethod.CARD, once_token=a_token(), who=None
    )
    hand = visitor(free)
    hand.go(f"/J/{free.token}/call-off")
    assert "It costs nothing" in hand.page.text
    assert "four digits" not in hand.page.text
    hand.send("/call-off")
    assert state(unit, free) is JobState.CALLED_OFF
    assert hand.path == f"/J/{free.token}"

    hand.go(f"/J/{paid.token}/call-off")
    assert "You have paid £50. You get all of it back." in hand.page.text
    hand.send("/call-off", digits="9999")
    assert hand.wrong("digits").startswith("Error: These aren't the last four digits")
    hand.send("/call-off", digits="0123")
    assert state(unit, paid) is JobState.CALLED_OFF
    assert "We owe you £50" in hand.page.text


def test_when_it_is_too_late_the_pages_say_whom_to_call(visitor, unit) -> None:
    job = a_booked_job(unit, dropoff=timedelta(hours=1))
    hand = visitor(job)
    for path in ("", "/time", "/call-off"):
        hand.go(f"/J/{job.token}{path}")
        assert "call us" in hand.page.text.lower()
        assert not times(hand)
        assert not [one for one in hand.page.all("form") if path and path in one.get("action", "")]


def test_parts_that_are_here_lead_back_to_the_job(visitor, unit) -> None:
    job = a_job_in_work(unit)
    hand = visitor(job)
    for path in ("/time", "/call-off"):
        hand.go(f"/J/{job.token}{path}")
        assert hand.path == f"/J/{job.token}"
        assert "can't be changed any more" in hand.told[0]
