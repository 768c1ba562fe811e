"""The second factor: switched on by its first code, asked for, spent once, slow to guess."""

import pyotp
import pytest

from portal.orders.access import second_factor, staff_sessions
from portal.orders.access.signing_in import give_code
from portal.orders.kernel.errors import RateLimited, Refused
from portal.shop.roles import Role
from tests.orders.at_the_door import add_odd, enter
from tests.readers import refusing


@pytest.fixture
def odd(unit) -> int:
    return add_odd(unit)


@pytest.fixture
def secret(unit, odd, clock) -> str:
    made = second_factor.new_secret(unit)
    second_factor.switch_on(unit, odd, made, pyotp.TOTP(made).at(clock.now()))
    clock.advance(seconds=90)
    return made


def test_the_published_codes_are_accepted() -> None:
    # RFC 6238, appendix B: the last six of the eight digits, SHA-1, times in seconds
    from datetime import UTC, datetime

    seed = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"  # base 32 of the ASCII key 12345678901234567890
    for seconds, code in ((59, "287082"), (1111111109, "081804"), (20000000000, "353130")):
        at = datetime.fromtimestamp(seconds, UTC)
        assert second_factor.step_of(seed, code, at, 0) == seconds // 30


def test_with_a_second_factor_the_password_alone_opens_nothing(unit, secret, clock) -> None:
    entered = enter(unit)
    assert entered.wants_code
    assert not staff_sessions.current(unit, entered.key).may(Role.FLOOR)
    inside = give_code(unit, entered.key, pyotp.TOTP(secret).at(clock.now()))
    assert staff_sessions.current(unit, inside.key).may(Role.COUNTER)
    assert staff_sessions.current(unit, entered.key) is None


def test_a_code_counts_once(unit, secret, clock) -> None:
    code = pyotp.TOTP(secret).at(clock.now())
    give_code(unit, enter(unit).key, code)
    with refusing(Refused, "used"):
        give_code(unit, enter(unit).key, code)


def test_guessing_codes_is_slow_and_a_known_password_does_not_help(unit, secret) -> None:
    for _ in range(5):
        with pytest.raises(Refused):
            give_code(unit, enter(unit).key, "000000")
    with pytest.raises(RateLimited):
        give_code(unit, enter(unit).key, "000000")


def test_the_step_between_password_and_code_is_short(unit, secret, clock) -> None:
    key = enter(unit).key
    clock.advance(minutes=6)
    with refusing(Refused, "too long"):
        give_code(unit, key, pyotp.TOTP(secret).at(clock.now()))


def test_a_wrong_first_code_does_not_switch_it_on(unit, odd) -> None:
    with pytest.raises(Refused):
        second_factor.switch_on(unit, odd, second_factor.new_secret(unit), "000000")
    assert not enter(unit).wants_code
