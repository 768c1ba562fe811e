"""Inches and degrees Fahrenheit by choice: for customers alone, and never on a marking."""

from dataclasses import replace

import pytest
import sqlalchemy as sa
from flask import current_app

from portal.craft.lengths import read_length
from portal.craft.messages import Message
from portal.craft.quantities import UnitSystem, celsius, kg
from portal.notices.sender import sender_of
from portal.render.reader import reader_for
from portal.shop.route import PartStage
from portal.shop.shop import read_shop
from portal.store.jobs import Customer as Booker
from portal.web.kit.i18n.languages import render
from tests.factories import PAINTED, a_booked_job, a_job_at
from tests.page import page_of
from tests.web.paper import text_of
from tests.web.walk import Customer

INCHES = {"Cookie": "units=inch"}
CALIPER = {
    "kind": "caliper",
    "count": "2",
    "metal": "cast_iron",
    "length": "10",
    "width": "5.5 in",
    "height": "120 mm",
}


@pytest.fixture
def inches(app):
    """A page of the intake that is made for somebody who chose inches."""
    with app.test_request_context("/o/X/parts", headers=INCHES):
        yield


def show(name: str, value: object) -> str:
    """What a filter of the pages makes of a value."""
    return current_app.jinja_env.call_filter(
        name, value, context=current_app.jinja_env.from_string("").new_context()
    )


def test_lengths_films_and_masses_follow_the_choice(inches) -> None:
    assert show("mm", 254) == "10\u00a0in"
    assert show("box", (254, 508, 25.4)) == "10 × 20 × 1\u00a0in"
    assert show("micron", 80) == "3.1\u00a0mil"
    assert show("celsius", 200) == "392\u00a0°F"
    assert (
        render(Message("The part weighs about {mass}.", mass=kg(12)))
        == "The part weighs about 26\u00a0lb."
    )


def test_a_marking_stays_as_it_is_cast(inches) -> None:
    assert render(Message("offset {mm} mm", mm=35)) == "offset 35 mm"
    assert render(
        Message("{width} mm wide, height {aspect} % of the width", width=225, aspect=45)
    ).startswith("225 mm")


@pytest.mark.parametrize("path", ["/counter/find", "/office/prices"])
def test_the_counter_and_the_office_stay_metric(app, path: str) -> None:
    with app.test_request_context(path, headers=INCHES):
        assert show("mm", 254) == "254\u00a0mm"
        assert render(Message("{n}", n=celsius(180))) == "180\u00a0°C"


def test_nothing_is_turned_without_the_choice(app) -> None:
    with app.test_request_context("/o/X/parts"):
        assert show("mm", 254) == "254\u00a0mm"
    with app.test_request_context("/o/X/parts", headers={"Cookie": "units=cubits"}):
        assert show("mm", 254) == "254\u00a0mm"


def test_the_choice_is_kept_and_leads_back(client) -> None:
    page = client.get("/why-powder")
    assert "180 °C" in page_of(page).text
    number = page.text.count('method="post"') - 1
    sent = client.submit(page, form=number)
    assert sent.status_code == 303  # the form leads to the languages; its button to the units
    token = page.text.split('name="csrf_token" value="')[1].split('"')[0]
    answer = client.post(
        "/units", data={"units": "inch", "back": "/why-powder", "csrf_token": token}
    )
    assert (answer.status_code, answer.headers["Location"]) == (303, "/why-powder")
    assert "HttpOnly" in answer.headers["Set-Cookie"]
    again = page_of(client.get("/why-powder")).text
    assert "356 °F" in again
    assert "180 °C" not in again


def test_the_choice_never_leads_away_and_knows_its_values(client) -> None:
    page = client.get("/why-powder")
    token = page.text.split('name="csrf_token" value="')[1].split('"')[0]
    away = client.post(
        "/units", data={"units": "cubits", "back": "//example.com", "csrf_token": token}
    )
    assert away.headers["Location"] == "/"
    assert "units=" not in away.headers.get("Set-Cookie", "")
    assert client.post("/units", data={"units": "inch"}).status_code == 400


def test_a_length_without_a_unit_means_inches_for_whoever_chose_them(client) -> None:
    client.set_cookie("units", "inch")
    customer = Customer(client)
    customer.send(**CALIPER)
    customer.follow(client.get(customer.url("parts/A")))
    there = customer.page
    assert there.one("input", name="length").get("value") == "10 in"
    assert there.one("input", name="width").get("value") == "5.5 in"
    assert there.one("input", name="height").get("value") == "4.72 in"
    assert "18 means 18 inches. You can also enter 17 3/4 or 45 cm." in there.text


def test_a_length_that_cannot_be_read_is_asked_for_in_the_units_that_were_chosen(client) -> None:
    client.set_cookie("units", "inch")
    customer = Customer(client)
    customer.send(**CALIPER | {"length": "long"})
    assert "Enter a length like 18, 17 3/4 or 45 cm." in customer.page.text


def test_lengths_are_read_in_the_words_of_each_language() -> None:
    assert read_length("18 Zoll") == pytest.approx(457.2)
    assert read_length("18 pulg.") == pytest.approx(457.2)
    assert read_length("18", bare=25.4) == pytest.approx(457.2)
    assert read_length("450 mm", bare=25.4) == 450


def test_an_order_in_inches_is_the_same_order_inside(app, client) -> None:
    unit = app.extensions["unit"]
    job = a_booked_job(unit, PAINTED)
    client.set_cookie("units", "inch")
    assert "mm, °C" in client.get(f"/J/{job.token}").text
    assert "µm" in client.get(f"/J/{job.token}/slip").text


def test_a_page_that_was_kept_for_one_reader_keeps_the_units_of_the_next(client, unit) -> None:
    job = a_booked_job(unit, PAINTED)
    metric = client.get(f"/J/{job.token}").text
    client.set_cookie("units", "inch")
    first = client.get(f"/J/{job.token}").text
    again = client.get(f"/J/{job.token}").text
    assert first == again != metric


def test_a_booking_keeps_the_units_that_were_chosen(client, unit) -> None:
    client.set_cookie("units", "inch")
    Customer(client).walk_to("read-back").book()
    with unit.read() as session:
        assert session.scalars(sa.select(Booker.units)).all() == [UnitSystem.INCH]


def test_who_chose_no_units_has_those_of_the_shop(client, unit, shop_text, powders_text) -> None:
    Customer(client).walk_to("read-back").book()
    with unit.read() as session:
        assert session.scalars(sa.select(Booker.units)).all() == [None]
    british = read_shop(shop_text, powders_text)
    american = replace(british, country="US")
    assert reader_for(british).units is sender_of(british).units is UnitSystem.METRIC
    assert reader_for(american).units is sender_of(american).units is UnitSystem.INCH
    assert sender_of(american, "de", UnitSystem.METRIC).units is UnitSystem.METRIC


def test_the_page_and_papers_of_a_job_follow_its_booking_in_any_browser(client, unit) -> None:
    job = a_job_at(unit, PartStage.DONE, PAINTED)
    unit.write(lambda session: session.execute(sa.update(Booker).values(units=UnitSystem.INCH)))
    assert " mil" in page_of(client.get(f"/J/{job.token}/inspection")).text
    assert " mil" in text_of(client.get(f"/J/{job.token}/inspection.pdf").data)
    # whoever chose in this browser reads what was chosen here
    client.set_cookie("units", "metric")
    assert "µm" in page_of(client.get(f"/J/{job.token}/inspection")).text
