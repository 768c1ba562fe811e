"""The people of the tests: a member of staff for each role, and how they sign in."""

import re
from dataclasses import dataclass

import sqlalchemy as sa

from portal.orders.access import signing_in
from portal.orders.access.signing_in import add_person
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.roles import Role
from portal.store.tables import Person
from tests.databases import scene


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


@scene
def add_staff(unit: UnitOfWork) -> None:
    """Put the cast into the database."""
    for one in EVERYBODY:
        add_person(unit, login=one.login, name=one.name, role=one.role, password=one.password)


def token_of(page: str) -> str:
    """Return the form token of a page."""
    found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', page)
    assert found, "the page has no form token"
    return found.group(1)


def sign_in(app, client, who: Staff = OFFICE):
    """Sign a test client in, without the form; adds the cast when it is not there yet."""
    unit, safe = app.extensions["unit"], app.extensions["settings"].https
    if not is_there(unit, who):
        add_staff(unit)
    begun = a_session(unit, who)
    for name, value in (("staff", begun.key), ("device", begun.device)):
        client.set_cookie(f"__Host-{name}" if safe else name, value, secure=safe)
    return client


def is_there(unit: UnitOfWork, who: Staff) -> bool:
    with unit.read() as session:
        return session.scalar(sa.select(Person.id).where(Person.login == who.login)) is not None


@scene
def a_session(unit: UnitOfWork, who: Staff) -> signing_in.SignedIn:
    """Sign a member of staff in on a device of the works."""
    return signing_in.sign_in(unit, who.login, who.password, address="127.0.0.1")
