"""Markings that can be meant in two ways: asked on the page, told to counter and slip."""

import pytest

from tests.factories import PAINTED, a_booked_job
from tests.web.walk import Customer

UNSURE = "8Jx18 5x112 45"
QUESTION = "We don't know what 45 is."


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client)


def test_what_is_unsure_is_asked_beside_the_field(customer) -> None:
    customer.send(size=UNSURE, build="cast")
    customer.go_to("parts/A")
    assert "18 inches across, 8 inches wide" in customer.page.text
    assert QUESTION in customer.page.text


def test_what_was_left_over_is_named(customer) -> None:
    customer.send(size="8Jx18 ET35 made somewhere", build="cast")
    customer.go_to("parts/A")
    assert "We didn't use: MADE SOMEWHERE" in customer.page.text


def test_a_width_that_cannot_be_read_stops_with_a_question(customer) -> None:
    customer.send(size="7.00Q x 20", build="steel")
    assert "We read a diameter of 20 inches, but not the width." in customer.page.text


def test_the_slip_tells_the_counter_what_to_look_at(client, unit) -> None:
    job = a_booked_job(unit, {**PAINTED, "rim": UNSURE})
    slip = client.get(f"/J/{job.token}/slip").get_data(as_text=True)
    assert "8J×18 5×112" in slip
    assert QUESTION.replace("'", "&#39;") in slip


def test_the_counter_sees_how_a_marking_was_read(hand, unit) -> None:
    job = a_booked_job(unit, {**PAINTED, "rim": UNSURE})
    page = hand.go(f"/counter/job/{job.code}/check-in").get_data(as_text=True)
    assert "read as: 8J×18 5×112" in page
    assert "Look at the wheel:" in page
