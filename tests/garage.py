"""A garage in tests: its browser, and a list as it pastes one."""

from typing import Any

import sqlalchemy as sa
from flask import Flask
from flask.testing import FlaskClient

from portal.orders.access.firm_links import send_link
from portal.orders.kernel.unit import UnitOfWork
from portal.store.tables import Job
from tests.firms import a_firm
from tests.orders.test_firms import token_of
from tests.page import Page, checked_client

HEAD = "Your reference;How many;Size;Made of;Old finish;Colour;Gloss"
GOOD = "4;8J x 18 ET35;cast;original;RAL 9005;satin"
TEN = "\n".join((HEAD, *(f"Order {n};{GOOD}" for n in range(1, 11))))
TWO_BAD = "\n".join(
    (
        HEAD,
        *(f"Order {n};{GOOD}" for n in range(1, 9)),
        "Order 9;four;8J x 18 ET35;cast;original;RAL 9005;satin",
        "Order 10;4;8J x 18 ET35;cast;original;ultraviolet;satin",
    )
)


def jobs_of_firm(unit: UnitOfWork, firm_id: int) -> list[Job]:
    """Return the jobs of a firm, the first booked first."""
    with unit.read() as session:
        query = sa.select(Job).where(Job.firm_id == firm_id).order_by(Job.id)
        return list(session.scalars(query))


def link_of(app: Flask, unit: UnitOfWork, firm_id: int) -> str:
    """Send a firm its link, and return the path in the letter."""

    send_link(unit, firm_id, who=None)
    return f"/firm/{token_of(unit)}"


def open_page(app: Flask, unit: UnitOfWork, firm_id: int) -> FlaskClient:
    """Return a browser in which the page of a firm is open."""
    client = checked_client(app)
    path = link_of(app, unit, firm_id)
    data = Page(client.get(path).text).fields(0)
    answer = client.post(path, data=data)
    assert answer.status_code == 303, answer.text
    return client


def a_garage(app: Flask, unit: UnitOfWork, **told: Any) -> tuple[FlaskClient, int]:
    """Return the browser of a new firm, and the firm's number."""
    firm_id = a_firm(unit, **told)
    return open_page(app, unit, firm_id), firm_id


def fields_of(page: Page, action: str) -> dict[str, Any]:
    """Return what the form with this action would send as it stands."""
    forms = [one for one in page.all("form") if one.get("method", "").lower() == "post"]
    at = next(n for n, one in enumerate(forms) if one.get("action") == action)
    return page.fields(at)


def paste(client: FlaskClient, text: str) -> str:
    """Paste rows as a new list and return its path."""
    page = Page(client.get("/firm/lists/new").text)
    data = fields_of(page, "/firm/lists/new") | {"text": text}
    answer = client.post("/firm/lists/new", data=data)
    assert answer.status_code == 303, Page(answer.text).text
    return str(answer.location)
