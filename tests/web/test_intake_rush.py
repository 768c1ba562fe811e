"""Going first for more money: offered on Day where it gains something, with price and date."""

import re
from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.orders.office import documents
from portal.orders.office.stations import stop_station
from portal.shop.route import PartStage
from portal.store.tables import Job
from tests.factories import a_job_in_work
from tests.web.walk import CONTACT, Customer

NOTE = {"id": "turn"}


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client)


def edit(unit, kind: str, key: str, over: dict[str, object]) -> None:
    body = documents.document(unit, kind).body
    seen = documents.newest(unit, kind)
    body = {**body, key: {**body[key], **over}}
    documents.put_document(unit, kind, body, expected_edition_id=seen, who=None)


@pytest.fixture
def busy(app):
    """So much waits for the blast, which works again in two days, that a place in line matters."""
    unit = app.extensions["unit"]
    now = unit.now()
    stop_station(unit, PartStage.BLAST, now, now + timedelta(days=2), who=None)
    for n in range(24):
        a_job_in_work(unit, first_tag=101 + 10 * n)


def at_the_day(customer) -> None:
    customer.walk_to("on-them")
    customer.send(**{"A-layers": ["bare"]})  # nothing goes to the outside strip
    customer.walk_to("day")


def note(customer) -> str:
    found = customer.page.all("section", **NOTE)
    return " ".join("".join(found[0].itertext()).split()) if found else ""


def bar(customer) -> str:
    return "".join(customer.page.one(class_="bar-now").itertext())


def test_a_customer_in_a_hurry_pays_for_going_first_and_sees_what_it_gains(
    customer, app, busy
) -> None:
    at_the_day(customer)
    usual, asked = bar(customer), note(customer)
    offer = r"For (£\S+) more, .* by (.+) instead of (.+?)\."
    extra, sooner, later = re.search(offer, asked).groups()
    assert sooner != later
    customer.send(turn="first")
    assert customer.step == "day"
    assert bar(customer) != usual
    assert f"{extra} of the price is for that" in note(customer)
    assert later in note(customer)
    assert sooner in customer.page.text
    customer.send()
    customer.send(**CONTACT)
    assert "Rush job: your parts go first" in customer.page.text
    customer.book()
    with app.extensions["unit"].read() as session:
        (job,) = session.scalars(sa.select(Job).where(Job.declared["rush"].as_boolean()))
    assert any(line["key"] == "rush" for line in job.quote["lines"])


def test_the_usual_turn_is_one_press_away_and_the_chosen_time_stays(customer, busy) -> None:
    at_the_day(customer)
    usual = bar(customer)
    slot = customer.page.all("input", name="slot")[3].get("value")
    customer.send(slot=slot, turn="first")
    customer.send(turn="usual")
    assert "In a hurry?" in note(customer)
    assert customer.page.one("input", name="slot", checked="").get("value") == slot
    assert re.search(r"£\d+", bar(customer))[0] == re.search(r"£\d+", usual)[0]


def test_where_nothing_is_gained_nothing_is_sold(customer) -> None:
    at_the_day(customer)
    assert note(customer) == ""


def test_a_shop_without_a_price_for_it_does_not_offer_it(customer, app, busy) -> None:
    edit(app.extensions["unit"], "prices", "rush", {"percent": "0", "at_least": "0"})
    at_the_day(customer)
    assert note(customer) == ""
