"""The preparation on the phone, without a script: ticks, what we take over, the tyre shop."""

from datetime import timedelta

import pytest

from tests.cast import COUNTER, sign_in
from tests.factories import a_booked_job
from tests.orders.test_preparing import ON_TYRES
from tests.page import checked_client
from tests.web.hand import Hand


@pytest.fixture
def job(unit):
    return a_booked_job(unit, ON_TYRES, dropoff=timedelta(days=3))


@pytest.fixture
def hand(client, job) -> Hand:
    return Hand(client, f"/J/{job.token}")


def test_the_list_is_ticked_and_the_page_of_the_job_counts(hand, job) -> None:
    (way,) = [a for a in hand.page.all("a") if a.get("href", "").endswith("/prepare")]
    hand.go(way.get("href"))
    assert "A tyre shop does it in minutes." in hand.page.text
    hand.send("/prepare", done=["A-tyre", "A-valve"])
    assert hand.told == ["Saved: 2 of 5 done."]
    hand.go(f"/J/{job.token}")
    assert "What to take off: 2 of 5 done" in hand.page.text
    hand.go(way.get("href"))
    every = [one.get("value") for one in hand.page.all("input") if one.get("name") == "done"]
    hand.send("/prepare", done=every)
    assert hand.told == ["Saved. Everything is off: you're ready to come."]


def test_what_i_could_not_do_is_priced_before_the_press_and_stands_on_today(hand, job, app) -> None:
    hand.go(f"/J/{job.token}/prepare/A-tyre")
    assert "New total" in hand.page.text
    assert "The date stays:" in hand.page.text or "New date:" in hand.page.text
    hand.send("/A-tyre", digits="1")
    assert hand.wrong("digits") == "Error: Enter the last four digits."
    hand.send("/A-tyre", digits="0123")
    assert hand.told == ["We take it off: Wheel weights, Tyre, Tyre-pressure sensor, Valve."]
    assert "Sheet for the tyre shop" not in hand.page.text
    hand.go(f"/J/{job.token}/prepare/A-tyre")
    assert hand.path == f"/J/{job.token}/prepare"
    counter = Hand(sign_in(app, checked_client(app), COUNTER))
    assert "We take off: Wheel weights, Tyre" in counter.page.text
    counter.go(f"/counter/job/{job.code}")
    assert "to take something off (Wheel weights, Tyre" in counter.page.text


def test_the_sheet_and_the_calendar_are_for_who_needs_a_tyre_shop(hand, job, unit) -> None:
    hand.go(f"/J/{job.token}/tyre-shop")
    assert "new seal, washer, nut, valve core" in hand.page.text
    calendar = hand.client.get(f"/J/{job.token}/tyre-shop.ics").get_data(as_text=True)
    assert "METHOD:PUBLISH" in calendar
    assert "-tyre-shop@" in calendar
    bare = a_booked_job(unit, phone="+447700900177")
    assert hand.client.get(f"/J/{bare.token}/tyre-shop").status_code == 404
