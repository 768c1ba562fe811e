"""The shared device: it locks itself, and opens by PIN for whoever stands before it."""

import pytest

from portal.orders.access import staff_sessions
from portal.orders.access.passwords import hashed, must_be_a_pin
from portal.orders.access.signing_in import add_person
from portal.orders.kernel.errors import Refused
from portal.orders.office.audit_view import Wanted, audit_entries
from portal.shop.roles import Role
from portal.store.tables import Person
from tests.orders.at_the_door import GOOD, add_odd, enter
from tests.readers import refusing


@pytest.fixture
def odd(unit) -> int:
    return add_odd(unit)


def give_pin(unit, person_id, pin) -> None:
    def put(session) -> None:
        session.get(Person, person_id).pin_hash = hashed(pin)

    unit.write(put)


def test_a_shared_device_locks_itself(unit, odd, clock) -> None:
    key = enter(unit, shared=True).key
    clock.advance(minutes=6)
    who = staff_sessions.current(unit, key)
    assert who.locked
    assert not who.may(Role.FLOOR)


def test_a_device_of_ones_own_does_not_lock_itself(unit, odd, clock) -> None:
    key = enter(unit).key
    clock.advance(minutes=30)
    assert staff_sessions.current(unit, key).may(Role.COUNTER)


def test_a_colleague_opens_the_locked_device_by_pin_and_under_their_own_name(unit, odd) -> None:
    wren = add_person(unit, login="wren", name="Wren", role=Role.OFFICE, password=GOOD)
    give_pin(unit, wren, "2580")
    key = enter(unit, shared=True).key
    staff_sessions.lock(unit, key)
    assert [one.name for one in staff_sessions.colleagues(unit)] == ["Wren"]
    fresh = staff_sessions.unlock(unit, key, wren, "2580")
    who = staff_sessions.current(unit, fresh)
    assert (who.name, who.may(Role.COUNTER)) == ("Wren", True)
    assert not who.may(Role.OFFICE)  # the office wants the password
    assert staff_sessions.current(unit, key) is None


def test_wrong_pins_are_slowed_and_end_the_session(unit, odd, clock) -> None:
    give_pin(unit, odd, "2580")
    key = enter(unit, shared=True).key
    staff_sessions.lock(unit, key)
    for n in range(10):
        clock.advance(minutes=5)
        with pytest.raises(Refused) as told:
            staff_sessions.unlock(unit, key, odd, "1111")
        assert (told.value.key == "ended") is (n == 9)
    with refusing(Refused, "signed out"):
        staff_sessions.unlock(unit, key, odd, "2580")


def test_a_person_without_a_pin_can_not_open_it(unit, odd) -> None:
    key = enter(unit, shared=True).key
    staff_sessions.lock(unit, key)
    with pytest.raises(Refused):
        staff_sessions.unlock(unit, key, odd, "")


@pytest.mark.parametrize("pin", ["", "123", "1234", "4321", "7777", "12a4", "123456789"])
def test_a_pin_that_anybody_would_try_is_refused(pin) -> None:
    with pytest.raises(Refused):
        must_be_a_pin(pin)


def test_a_pin_of_four_to_eight_digits_is_good() -> None:
    must_be_a_pin("2580")
    must_be_a_pin("90210734")


def test_who_came_in_stands_in_the_record(unit, odd) -> None:
    give_pin(unit, odd, "2580")
    key = enter(unit, shared=True).key
    staff_sessions.lock(unit, key)
    staff_sessions.unlock(unit, key, odd, "2580")
    assert [deed.verb for deed in audit_entries(unit, Wanted(person_id=odd))] == [
        "unlock",
        "sign_in",
    ]
