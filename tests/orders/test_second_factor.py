"""The second factor: switched on by its first code, asked for, spent once, slow to guess."""

from math import log2

import pyotp
import pytest
import sqlalchemy as sa

from portal.orders.access import second_factor, staff_sessions
from portal.orders.access.signing_in import give_code, sign_in
from portal.orders.kernel.errors import RateLimited, Refused
from portal.orders.office import people
from portal.orders.office.audit_view import audit_entries
from portal.shop.roles import Role
from portal.store.tables import RecoveryCode
from tests.orders.at_the_door import add_odd, enter
from tests.readers import english, refusing


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


def test_a_code_ends_with_the_half_minute_after_its_own(unit, secret, clock) -> None:
    # RFC 6238, 5.2: one step for clocks that differ
    code = pyotp.TOTP(secret).at(clock.now())
    clock.advance(seconds=30)
    assert second_factor.step_of(secret, code, clock.now(), 0)
    clock.advance(seconds=30)
    assert second_factor.step_of(secret, code, clock.now(), 0) is None


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


def test_the_authenticator_shows_the_name_of_the_works() -> None:
    made = second_factor.address_of("A" * 32, "wren", "Fennholt: Coating")
    assert pyotp.parse_uri(made).issuer == "Fennholt Coating"
    assert pyotp.parse_uri(made).name == "wren"


def test_a_recovery_code_takes_the_place_of_a_lost_phone_once(unit, secret, odd) -> None:
    codes = second_factor.new_recovery_codes(unit, odd)
    assert len(set(codes)) == second_factor.RECOVERY_CODES
    spaced = f"{codes[0][:4]} {codes[0][4:8]} {codes[0][8:]}"
    inside = give_code(unit, enter(unit).key, spaced)
    assert staff_sessions.current(unit, inside.key).may(Role.COUNTER)
    assert second_factor.recovery_codes_left(unit, odd) == second_factor.RECOVERY_CODES - 1
    with refusing(Refused, "used"):
        give_code(unit, enter(unit).key, codes[0])
    fresh = second_factor.new_recovery_codes(unit, odd)
    with refusing(Refused, "used"):
        give_code(unit, enter(unit).key, codes[1])
    second_factor.switch_off(unit, odd, who=odd)
    assert second_factor.recovery_codes_left(unit, odd) == 0
    assert set(fresh).isdisjoint(codes)


def test_recovery_codes_are_long_and_kept_as_hashes(unit, odd) -> None:
    codes = second_factor.new_recovery_codes(unit, odd)
    # ASVS 5.0, 6.5.4: twenty bits at least
    assert all(code.isdigit() and log2(10 ** len(code)) >= 20 for code in codes)
    with unit.read() as session:
        kept = session.scalars(sa.select(RecoveryCode.code_hash)).all()
    assert len(kept) == len(codes)
    assert not any(code in one for code in codes for one in kept)


def test_a_new_password_from_the_office_leaves_the_second_factor_on(unit, odd, secret) -> None:
    people.new_password(unit, odd, "another row of brass hooks", who=odd)
    assert sign_in(unit, "odd", "another row of brass hooks", address="here").wants_code


def test_what_is_refused_stands_in_the_log_in_sentences(unit, secret) -> None:
    with pytest.raises(Refused):
        give_code(unit, enter(unit).key, "000000")
    for login in ("odd", "hunter2 the password"):
        with pytest.raises(Refused):
            sign_in(unit, login, "a wrong word of fifteen", address="192.0.2.7")
    said = [english(one.says) for one in audit_entries(unit)[:3]]
    assert said == [
        "The portal refused a wrong password for: a name that nobody has",
        "The portal refused a wrong password for: odd",
        "The portal refused a wrong sign-in code for: odd",
    ]
