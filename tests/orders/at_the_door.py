"""A person of the counter, and how they sign in, for tests of what lies behind the door."""

from portal.orders.access.signing_in import add_person, sign_in
from portal.shop.roles import Role

GOOD = "seven brass hooks in a row"
HERE = "192.0.2.1"


def add_odd(unit) -> int:
    return add_person(unit, login="odd", name="Odd", role=Role.COUNTER, password=GOOD)


def enter(unit, login="odd", password=GOOD, **more):
    return sign_in(unit, login, password, address=more.pop("address", HERE), **more)
