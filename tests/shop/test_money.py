"""Money is whole minor units of one currency."""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.shop.money import Money, round_half_up, total

MINORS = st.integers(-10_000_000, 10_000_000)


@given(st.decimals(-10_000, 10_000, places=4))
def test_rounding_is_half_away_from_zero(amount: Decimal) -> None:
    exact = int(abs(amount) * 10_000)
    expected = (exact + 5_000) // 10_000
    assert round_half_up(amount) == (expected if amount >= 0 else -expected)
    assert round_half_up(amount) == int(amount.to_integral_value(ROUND_HALF_UP))


@given(MINORS, MINORS)
def test_sums_and_differences_are_exact(one: int, other: int) -> None:
    assert (Money(one, "GBP") + Money(other, "GBP") - Money(other, "GBP")) == Money(one, "GBP")
    assert total([Money(one, "GBP"), Money(other, "GBP")], "GBP").minor == one + other


def test_two_currencies_are_never_mixed() -> None:
    with pytest.raises(ValueError, match="cannot mix"):
        Money(1, "GBP") + Money(1, "EUR")


def test_a_share_is_rounded_half_up() -> None:
    assert Money(125, "GBP").share(Decimal("0.5")) == Money(63, "GBP")
    assert Money(-125, "GBP").share(Decimal("0.5")) == Money(-63, "GBP")
