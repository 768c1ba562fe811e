"""The catalogue's pages of a question: asked before booking, answered at the counter."""

from typing import Any

from werkzeug.test import TestResponse

from portal.orders.counter.questions_view import to_answer
from tests.browser.layout.house import House
from tests.browser.layout.pages import state
from tests.web.walk import WHEELS

ASKED = {
    "question": "The marking reads 8Jx18 H2.\nCan you coat the inside of the rims too?",
    "name": "Robin Sample",
    "email": "robin@example.com",
    "phone": "07700 900123",
}


def asked(house: House, **typed: Any) -> Any:
    """Begin an order of two pages, and ask about it."""
    customer = house.ordered_to("finish")
    customer.go_to("ask")
    customer.send(**ASKED | typed)
    return customer


def question(house: House, of: str) -> str:
    """The address at the counter of a question whose customer is called so."""
    customer = asked(house, name=of, email=f"{of.lower()}@example.com")
    assert customer.at.status_code == 200, customer.page.text
    return f"/counter/questions/{number_of(house, of)}"


def number_of(house: House, name: str) -> int:
    """The number of the question that this customer asked."""
    return next(one.question_id for one in to_answer(house.unit) if one.name == name)


@state("ask, before any parts", "link")
def _ask(house: House) -> TestResponse:
    return house.order().go_to("ask")


@state("ask, with errors", "link", 422)
def _ask_errors(house: House) -> TestResponse:
    customer = house.ordered_to("on-them", **WHEELS)
    customer.go_to("ask")
    return customer.send(question="", name="Robin 😀", email="robin@", phone="12")


@state("asked", "link")
def _asked(house: House) -> TestResponse:
    return asked(house).at


@state("finish, with a question that waits", "intake")
def _waiting(house: House) -> TestResponse:
    return asked(house).go_to("finish")


@state("finish, with our answer", "intake")
def _answered(house: House) -> TestResponse:
    customer = asked(house, name="Ansel", email="ansel@example.com")
    there = house.staff.get(f"/counter/questions/{number_of(house, 'Ansel')}")
    house.staff.submit(there, form=1, answer="Yes.\nIt is part of the price.")
    return customer.follow(customer.client.get(f"/r/{customer.token}"))


@state("an order that ended", "link", 410)
def _ended(house: House) -> TestResponse:
    customer = house.order()
    token = customer.token
    now = house.clock.time
    house.clock.advance(days=8)
    try:
        return customer.client.get(f"/o/{token}/parts")
    finally:
        house.clock.set(now)


@state("questions", "counter")
def _questions(house: House) -> TestResponse:
    question(house, "Waits")
    return house.staff.get("/counter/questions")


@state("today, with questions", "counter")
def _today(house: House) -> TestResponse:
    question(house, "Arrives")
    return house.staff.get("/counter/today")


@state("question", "counter")
def _question(house: House) -> TestResponse:
    return house.staff.get(question(house, "Opens"))


@state("question, with errors", "counter", 422)
def _question_errors(house: House) -> TestResponse:
    there = house.staff.get(question(house, "Errs"))
    return house.staff.submit(there, form=1, answer=" ")


@state("question, answered", "counter")
def _question_answered(house: House) -> TestResponse:
    path = question(house, "Closes")
    house.staff.submit(house.staff.get(path), form=1, answer="We talked.", how="close")
    return house.staff.get(path)


@state("privacy, in the office", "office")
def _office(house: House) -> TestResponse:
    return house.staff.get("/office/privacy")


@state("terms, of our own", "office")
def _own(house: House) -> TestResponse:
    there = house.staff.get("/office/terms")
    house.staff.submit(there, en="# Ours\n\nCome by bicycle.\n- one\n- two")
    return house.staff.get("/office/terms")


@state("terms, with errors", "office", 422)
def _own_errors(house: House) -> TestResponse:
    return house.staff.submit(house.staff.get("/office/terms"), de="x" * 12_001)
