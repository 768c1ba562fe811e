"""The people of the tests: a member of staff for each role, and how they sign in."""

import re
from dataclasses import dataclass

from portal.orders.access.signing_in import add_person
from portal.shop.roles import Role


@dataclass(frozen=True)
class Staff:
    login: str
    name: str
    role: Role
    password: str


FLOOR = Staff("tamsin", "Tamsin", Role.FLOOR, "blue kettle on the bench")
COUNTER = Staff("odd", "Odd", Role.COUNTER, "seven brass hooks in a row")
OFFICE = Staff("wren", "Wren", Role.OFFICE, "rain against the roller door")
EVERYBODY = (FLOOR, COUNTER, OFFICE)


def add_staff(app) -> None:
    """Put the cast into the app's database."""
    unit = app.extensions["unit"]
    for one in EVERYBODY:
        add_person(unit, login=one.login, name=one.name, role=one.role, password=one.password)


def token_of(page: str) -> str:
    """Return the form token of a page."""
    found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', page)
    assert found, "the page has no form token"
    return found.group(1)


def sign_in(app, client, who: Staff = OFFICE):
    """Sign a test client in; adds the cast when it is not there yet."""
    if "cast" not in app.extensions:
        add_staff(app)
        app.extensions["cast"] = True
    page = client.get("/counter/sign-in").get_data(as_text=True)
    answer = client.post(
        "/counter/sign-in",
        data={"login": who.login, "password": who.password, "csrf_token": token_of(page)},
    )
    assert answer.status_code == 303, answer.get_data(as_text=True)
    return client
