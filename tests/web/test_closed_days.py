"""The office closes a day: whom it hits stands on the page before anything is saved."""

from datetime import timedelta

import pytest

from portal.orders.office import documents
from tests.cast import OFFICE, sign_in
from tests.factories import a_booked_job
from tests.page import page_of, words

ROW = {"b.closures.1.from": "2026-06-05", "b.closures.1.to": "2026-06-05"}


@pytest.fixture
def office(app, client):
    return sign_in(app, client, OFFICE)


def closures(unit) -> list:
    return documents.document(unit, "week").body["closures"]


def test_who_is_hit_is_shown_first_and_told_by_the_second_press(office, app, unit) -> None:
    job = a_booked_job(unit, dropoff=timedelta(days=4), name="Robin Sample")
    before = closures(unit)
    asked = office.submit(office.get("/office/week"), **ROW)
    page = page_of(asked)
    assert "Nothing is saved yet: you would be closed for one customer." in page.text
    assert "Robin Sample" in page.text
    assert page.one("input", id="b.closures.1.from").get("value") == "2026-06-05"
    assert closures(unit) == before
    saved = office.submit(asked)
    assert saved.status_code == 303
    assert len(closures(unit)) == len(before) + 1

    customer = page_of(app.test_client().get(f"/J/{job.token}"))
    assert words(customer.one("h1")) == "Choose another drop-off time"
    assert "We are closed on Friday 5 June" in customer.text
    assert "Bring your parts" not in customer.text


def test_a_closed_day_that_hits_nobody_is_saved_at_once(office, unit) -> None:
    before = len(closures(unit))
    assert office.submit(office.get("/office/week"), **ROW).status_code == 303
    assert len(closures(unit)) == before + 1
