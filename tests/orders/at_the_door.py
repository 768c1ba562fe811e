"""A person of the counter, and how they sign in, for tests of what lies behind the door."""

import pytest

from portal.orders.signing_in import add_person, sign_in
from portal.shop.roles import Role

GOOD = "seven brass hooks in a row"
HERE = "192.0.2.1"


def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hashing as slow as in the house would make these tests slow too."""
    from argon2 import PasswordHasher

    monkeypatch.setattr(
        "portal.orders.passwords._hasher", PasswordHasher(time_cost=1, memory_cost=64)
    )


def add_odd(unit) -> int:
    return add_person(unit, login="odd", name="Odd", role=Role.COUNTER, password=GOOD)


def enter(unit, login="odd", password=GOOD, **more):
    return sign_in(unit, login, password, address=more.pop("address", HERE), **more)
