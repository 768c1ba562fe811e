"""A form that outlived its sign-in is kept whole, and shown as a person knows it."""

import pytest

from portal.orders.access.held_forms import KEPT_FOR, held_form, hold_form
from portal.orders.kernel.errors import Expired

FIELDS = [
    ("csrf_token", "a"),
    ("once", "once-00000001"),
    ("expected_event_id", "12"),
    ("reason", "Runs in the powder"),
    ("password", "secret"),
]


def test_what_is_sent_again_is_whole_and_what_is_shown_was_typed(unit) -> None:
    held = held_form(unit, hold_form(unit, "/counter/parts/1/rework", FIELDS))
    assert held.fields == tuple(FIELDS[1:4])
    assert held.typed == (("reason", "Runs in the powder"),)


def test_it_is_kept_for_ten_minutes(unit, clock) -> None:
    key = hold_form(unit, "/counter/parts/1/rework", FIELDS)
    clock.set(clock.now() + KEPT_FOR)
    with pytest.raises(Expired):
        held_form(unit, key)
