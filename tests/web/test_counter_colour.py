"""The counter chooses a colour from the samples with the customer."""

import sqlalchemy as sa

from portal.shop.moves import JobState
from portal.shop.states import Arrival
from portal.store.tables import Job, Part
from tests.factories import WHEELS, a_booked_job, state
from tests.orders.test_choosing_colour import OPEN
from tests.orders.test_findings import receive


def test_check_in_asks_for_the_colour_and_the_press_puts_it_into_the_order(hand, unit) -> None:
    job = a_booked_job(unit, OPEN)
    hand.scan(job.code)
    assert "Choose it from the samples with the customer." in hand.page.text
    for tag in ("101", "102", "103", "104"):
        hand.scan(tag)
    hand.send("/as-declared")
    assert "Receive and wait for the colour" in hand.page.text
    hand.go(f"/counter/job/{job.code}/colour?set=A")
    hand.send("/colour", plate="DUSK-G", do="weigh")
    assert "Change to the price" in hand.page.text
    hand.send("/colour", do="choose")
    assert "Choose it from the samples" not in hand.page.text
    hand.send("/receive")
    assert hand.told == ["Received. Work has started."]
    assert "Dusk gunmetal" in hand.page.text


def test_received_without_a_colour_the_job_waits_and_says_so(hand, unit, client) -> None:
    job = a_booked_job(unit, OPEN)
    receive(unit, job)
    assert state(unit, job) is JobState.WAITING
    hand.go(f"/counter/job/{job.code}")
    assert "Choose it from the samples with the customer." in hand.page.text
    hand.go("/counter/floor")
    assert "Jet black" not in hand.page.text


def test_no_plate_is_asked_for(hand, unit) -> None:
    job = a_booked_job(unit, OPEN)
    hand.go(f"/counter/job/{job.code}/colour?set=A")
    hand.send("/colour", do="weigh")
    assert hand.at.status_code == 422
    assert "Choose the plate." in hand.page.text


def test_a_colour_that_was_chosen_elsewhere_goes_back_to_check_in(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}/colour?set=A")
    assert hand.path.endswith("/check-in")
    with unit.read() as session:
        assert session.get(Job, job.job_id).state is JobState.BOOKED


def test_nobody_chooses_a_colour_for_parts_that_were_not_brought(hand, unit, client) -> None:
    job = a_booked_job(unit, OPEN, WHEELS)

    def work(session) -> None:
        session.get(Job, job.job_id).state = JobState.WAITING
        for part in session.scalars(sa.select(Part).where(Part.set_key == "A")):
            part.arrived = Arrival.MISSING

    unit.write(work)
    for page in ("/check-in", ""):
        hand.go(f"/counter/job/{job.code}{page}")
        assert "Choose it from the samples" not in hand.page.text
        assert "wait for the colour" not in hand.page.text
    assert "Choose your colour" not in client.get(f"/J/{job.token}").get_data(as_text=True)
