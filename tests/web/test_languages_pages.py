"""A customer who walks in German: every page, the slip, the status page and the letters."""

import re
from dataclasses import replace

import pytest
import sqlalchemy as sa

from portal.craft.declared import read_declared
from portal.craft.parts import Damage
from portal.orders.counter import findings
from portal.shop.pricing.differences import Difference
from portal.shop.route import PartStage
from portal.store.letters import Letter
from portal.store.tables import Job
from tests.factories import PAINTED, a_booked_job, a_job_at, a_token, last_event_id
from tests.page import checked_client, page_of
from tests.web.walk import Customer

WEEKDAYS = "Montag|Dienstag|Mittwoch|Donnerstag|Freitag|Samstag|Sonntag"


@pytest.fixture
def german(app):
    client = checked_client(app)
    client.set_cookie("lang", "de")
    return client


def letters(app) -> list[Letter]:
    with app.extensions["unit"].read() as session:
        return list(session.scalars(sa.select(Letter).order_by(Letter.id)))


def test_the_whole_way_speaks_german_and_so_do_its_letters(app, german) -> None:
    customer = Customer(german)
    asked = []
    for step in ("parts", "on-them", "comes-off", "finish", "day", "you", "read-back"):
        customer.walk_to(step)
        assert customer.page.one("html").get("lang") == "de"
        asked.append("".join(customer.page.one("h1").itertext()).strip())
    assert asked == [
        "Was bringen Sie?",
        "Welche Beschichtung ist jetzt darauf?",
        "Was muss abgebaut werden?",
        "Welche Beschichtung?",
        "Wann bringen Sie die Teile?",
        "Ihre Kontaktdaten",
        "Prüfen",
    ]
    assert customer.book().status_code == 303
    with app.extensions["unit"].read() as session:
        job = session.scalars(sa.select(Job)).one()
    assert job.customer.locale == "de"
    (letter,) = letters(app)
    assert letter.subject.startswith(f"Gebucht: {job.code[:4]}-{job.code[4:]}")
    assert "4 × Räder 18 × 8" in letter.text
    assert re.search(rf"Abgabe: (?:{WEEKDAYS}), \d+\. [A-Z][a-zä]+, \d\d:\d\d", letter.text)
    assert "Teile abgeben bei" in letter.calendar.replace("\r\n ", "")


def test_a_language_that_is_chosen_on_the_way_is_the_one_of_the_letters(app, client) -> None:
    customer = Customer(client)
    customer.walk_to("read-back")
    client.set_cookie("lang", "de")
    customer.go_to("read-back")
    assert customer.book().status_code == 303
    (letter,) = letters(app)
    assert "Ihr Auftrag ist gebucht." in letter.text


def test_an_error_stands_beside_its_field_in_german(german) -> None:
    customer = Customer(german)
    customer.send(count="4000")
    text = customer.page.text
    assert "Fehler: Geben Sie eine ganze Zahl von 1 bis 40 ein." in text


def test_the_slip_and_the_status_page_of_an_english_booking_speak_german_to_a_german(
    app, german
) -> None:
    job = a_booked_job(app.extensions["unit"], PAINTED)
    slip = page_of(german.get(f"/J/{job.token}/slip")).text
    assert "Abgabeschein" in slip
    assert re.search(rf"(?:{WEEKDAYS}), \d+\. [A-Z]", slip)
    status = page_of(german.get(f"/J/{job.token}"))
    assert "4 × Räder" in status.text
    assert "Bringen Sie Ihre Teile am" in status.text


def test_a_finding_is_told_in_the_language_of_its_reader(app, german, client) -> None:
    unit = app.extensions["unit"]
    job = a_booked_job(unit, PAINTED)
    with unit.read() as session:
        own = read_declared(session.get_one(Job, job.job_id).declared).sets[0]
    arrived = replace(own, damage=(Damage.KERB_RASH,), count=2)
    findings.raise_finding(
        unit,
        job.job_id,
        Difference(own.key, (2, 3), arrived, note="both on the rim {edge}"),
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )
    there = german.get(f"/J/{job.token}").text
    assert "Wir haben an 2 Rädern Bordsteinschäden gefunden, die Sie nicht genannt haben" in there
    assert "both on the rim {edge}" in there
    english = page_of(client.get(f"/J/{job.token}")).text
    assert "We found kerb damage on 2 wheels that you didn't mention (numbers 2, 3)." in english


def test_the_verdict_on_the_sheet_is_told_in_the_language_of_its_reader(app, german) -> None:
    job = a_job_at(app.extensions["unit"], PartStage.DONE)
    text = page_of(german.get(f"/J/{job.token}/inspection")).text
    assert re.search(r"Angenommen: Mittelwert \d+ µm, kleinster Wert \d+ µm\.", text)


def test_a_figure_has_the_decimal_sign_of_its_language(app) -> None:
    from portal.craft.messages import Message
    from portal.craft.quantities import kg
    from portal.web.kit.i18n.languages import render

    sentence = Message("About {kg} of {name}, in stock.", kg=kg(0.8), name="X 2.5 Y")
    with app.test_request_context("/o/X/finish", headers={"Cookie": "lang=de"}):
        assert render(sentence) == "Etwa 0,8\u00a0kg X 2.5 Y, auf Lager."
    with app.test_request_context("/o/X/finish"):
        assert render(sentence) == "About 0.8\u00a0kg of X 2.5 Y, in stock."
