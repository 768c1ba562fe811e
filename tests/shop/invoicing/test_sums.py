"""Net, tax and gross by EN 16931: the tax of each rate once, from its sum (BR-CO-17)."""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.messages import Message
from portal.shop.invoicing.compose import Charge, JobCharges, lines_and_taxes
from portal.shop.invoicing.sums import fit, tax_on, taxed

RATES = st.sampled_from([Decimal(r) for r in ("0", "5.5", "7", "8.25", "17.5", "19", "20", "21")])
CENT = Decimal("0.01")


@pytest.mark.parametrize(
    ("net", "rate", "tax"),
    [
        # half a cent goes up, as XPath's round() in the norm's own rules has it
        (250, "19", 48),  # 47.5
        (150, "17", 26),  # 25.5
        (28000, "20", 5600),
        (5042, "19", 958),
    ],
)
def test_the_tax_is_rounded_half_up(net: int, rate: str, tax: int) -> None:
    exact = Decimal(net) * CENT * Decimal(rate) / 100
    assert exact.quantize(CENT, ROUND_HALF_UP) == tax * CENT
    assert tax_on(net, Decimal(rate)) == tax


@given(st.integers(0, 2_000_000), RATES)
def test_net_tax_and_rounding_are_what_was_agreed(gross: int, rate: Decimal) -> None:
    found = taxed(gross, rate)
    assert found.net + found.tax + found.rounding == gross
    assert found.tax == tax_on(found.net, rate)
    assert abs(found.rounding) <= 1


@given(st.integers(0, 20_000), RATES)
def test_a_cent_is_left_over_only_where_no_net_meets_the_gross(gross: int, rate: Decimal) -> None:
    near = int(gross * 100 / (100 + rate))
    meets = any(n + tax_on(n, rate) == gross for n in range(max(0, near - 3), near + 4))
    assert (taxed(gross, rate).rounding == 0) == meets


def test_a_sum_below_zero_mirrors_its_opposite() -> None:
    assert taxed(-3, Decimal(20)).rounding == -taxed(3, Decimal(20)).rounding
    assert taxed(-6000, Decimal(20)).tax == -1000


@given(
    st.lists(st.decimals(-500, 500, places=3), min_size=1, max_size=9),
    st.integers(-40, 40),
)
def test_rounded_parts_add_up(exact: list[Decimal], more: int) -> None:
    total = round(sum(exact)) + more
    assert sum(fit(total, exact)) == total


def jobs() -> st.SearchStrategy[list[JobCharges]]:
    charge = st.builds(
        Charge,
        says=st.just(Message("Work")),
        amount=st.integers(0, 40_000),
        count=st.integers(1, 6),
    )
    return st.lists(
        st.builds(
            lambda charges, percent, inclusive, less: job(charges, percent, less, inclusive),
            st.lists(charge, min_size=1, max_size=6),
            RATES,
            st.booleans(),
            st.integers(0, 500),
        ),
        min_size=1,
        max_size=4,
    )


def job(charges: list[Charge], percent: Decimal, less: int, inclusive: bool) -> JobCharges:
    listed = sum(one.amount for one in charges)
    gross = listed if inclusive else listed + tax_on(listed, percent)
    less = min(less, gross)
    if less:
        charges = [*charges, Charge(Message("Discount"), -less, with_tax=True)]
    return JobCharges("JOB", percent, inclusive, tuple(charges), gross - less)


@given(jobs())
def test_lines_and_rates_add_up_to_what_was_agreed(every: list[JobCharges]) -> None:
    lines, taxes = lines_and_taxes(every)
    agreed = sum(one.agreed for one in every)
    assert sum(one.gross + one.rounding for one in taxes) == agreed
    for one in taxes:
        own = [line.net for line in lines if line.percent == one.percent]
        assert sum(own) == one.net  # BR-S-08: the base of a rate is the sum of its lines
        assert one.tax == tax_on(one.net, one.percent)  # BR-CO-17


@given(st.lists(st.integers(0, 40_000), min_size=1, max_size=6), RATES)
def test_prices_without_tax_stand_on_the_lines_as_they_are(sums: list[int], rate: Decimal) -> None:
    lines, _ = lines_and_taxes([job([Charge(Message("W"), n) for n in sums], rate, 0, False)])
    assert [line.net for line in lines] == sums
