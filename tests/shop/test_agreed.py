"""A price brought to an agreed sum still adds up, in every way that a place writes its tax."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.messages import Message
from portal.shop.money import Money, round_half_up
from portal.shop.pricing.agreed import at_agreed_sum
from portal.shop.pricing.quote import Quote
from portal.shop.pricing.quote_lines import firm, line


def priced(listed: int, percent: int, *, inclusive: bool) -> Quote:
    """A price of one line; the tax by hand, as an invoice reckons it."""
    if inclusive:
        tax = round_half_up(Decimal(listed * percent) / (100 + percent))
        total, net = listed, listed - tax
    else:
        tax = round_half_up(Decimal(listed * percent) / 100)
        total, net = listed + tax, listed
    sums = {"net": net, "tax": tax, "total": total, "low": total, "high": total + 500}
    return Quote(
        lines=(line("coat", Message("Coat"), Message("Why"), firm(listed), "GBP"),),
        tax_percent=Decimal(percent),
        tax_inclusive=inclusive,
        deposit=Money(0, "GBP"),
        **{name: Money(minor, "GBP") for name, minor in sums.items()},
    )


@pytest.mark.parametrize("inclusive", [True, False])
@given(
    listed=st.integers(100, 500_000),
    moved=st.integers(-90, 5_000),
    percent=st.sampled_from([0, 7, 19, 20, 21]),
)
def test_the_lines_add_up_to_the_sum_that_was_agreed(inclusive, listed, moved, percent) -> None:
    before = priced(listed, percent, inclusive=inclusive)
    agreed = at_agreed_sum(before, before.total.minor + moved)
    assert agreed.total.minor == before.total.minor + moved
    assert agreed.net.minor + agreed.tax.minor == agreed.total.minor
    added_up = sum(one.amount.minor for one in agreed.lines)
    assert added_up == (agreed.total if inclusive else agreed.net).minor
    assert agreed.low <= agreed.total <= agreed.high


def test_an_agreed_sum_that_is_the_price_needs_no_line() -> None:
    before = priced(12_000, 20, inclusive=True)
    assert at_agreed_sum(before, 12_000) is before
    assert [one.key for one in at_agreed_sum(before, 11_850).lines] == ["coat", "agreed"]
