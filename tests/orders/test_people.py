"""The people of the works: roles, leaving, new passwords."""

import pytest

from portal.orders.access import signing_in, staff_sessions
from portal.orders.kernel.errors import Refused
from portal.orders.office import people
from portal.shop.roles import Role

SECRET = "seven brass hooks in a row"


@pytest.fixture
def wren(unit) -> int:
    return signing_in.add_person(unit, login="wren", name="Wren", role=Role.OFFICE, password=SECRET)


def test_the_last_person_of_the_office_stays(unit, wren) -> None:
    for role, active in ((Role.COUNTER, True), (Role.OFFICE, False)):
        with pytest.raises(Refused):
            people.change_person(unit, wren, name="W", role=role, active=active, who=wren)


def test_whoever_leaves_is_signed_out(unit, wren) -> None:
    odd = signing_in.add_person(unit, login="odd", name="Odd", role=Role.FLOOR, password=SECRET)
    key = signing_in.sign_in(unit, "odd", SECRET, address="here").key
    people.change_person(unit, odd, name="Odd", role=Role.FLOOR, active=False, who=wren)
    assert staff_sessions.current(unit, key) is None


def test_a_new_role_counts_at_the_next_page(unit, wren) -> None:
    odd = signing_in.add_person(unit, login="odd", name="Odd", role=Role.FLOOR, password=SECRET)
    key = signing_in.sign_in(unit, "odd", SECRET, address="here").key
    people.change_person(unit, odd, name="Odd", role=Role.COUNTER, active=True, who=wren)
    assert staff_sessions.current(unit, key).may(Role.COUNTER)


def test_the_office_gives_a_new_password(unit, wren) -> None:
    odd = signing_in.add_person(unit, login="odd", name="Odd", role=Role.FLOOR, password=SECRET)
    people.new_password(unit, odd, "another row of brass hooks", who=wren)
    assert signing_in.sign_in(unit, "odd", "another row of brass hooks", address="here").key


def test_nothing_that_is_secret_stands_in_the_list_of_people(unit, wren) -> None:
    assert "argon2" not in repr(people.people(unit))
