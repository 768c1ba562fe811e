"""Money as forms, files and messages have it."""

from dataclasses import dataclass
from decimal import Decimal

import pytest

from portal.craft.messages import CraftError
from portal.craft.reading import read, write
from portal.craft.schema import Table
from portal.shop.money import Money, TooFine, digits_of, total


@dataclass(frozen=True, slots=True)
class Kept(Table):
    """A sum in a document."""

    sum: Money


def test_a_sum_is_kept_as_minor_units_and_read_in_its_currency() -> None:
    assert write(Kept(Money(4550, "GBP"))) == {"sum": 4550}
    assert read(Kept, {"sum": 4550}, "GBP") == Kept(Money(4550, "GBP"))
    for wrong in ("4550", 45.5, True, None):
        with pytest.raises(CraftError) as bad:
            read(Kept, {"sum": wrong}, "GBP")
        assert bad.value.key == "sum"


# ISO 4217: no decimals in yen, three in Kuwaiti dinars, four in the Chilean unit of account
@pytest.mark.parametrize(
    ("currency", "digits", "major", "minor", "plain"),
    [
        ("GBP", 2, "45.5", 4550, "45.50"),
        ("XYZ", 2, "45", 4500, "45.00"),
        ("JPY", 0, "45", 45, "45"),
        ("KWD", 3, "45.5", 45500, "45.500"),
        ("CLF", 4, "0.0001", 1, "0.0001"),
    ],
)
def test_the_decimals_of_a_currency(currency, digits, major, minor: int, plain: str) -> None:
    found = Money.of(Decimal(major), currency)
    assert (digits_of(currency), found) == (digits, Money(minor, currency))
    assert (found.major, found.plain) == (Decimal(major), plain)
    with pytest.raises(TooFine):
        Money.of(Decimal(1).scaleb(-digits) / 2, currency)


def test_sums_of_one_currency() -> None:
    five, two = Money(5, "GBP"), Money(2, "GBP")
    assert (five - two, -five, two.times(3)) == (Money(3, "GBP"), Money(-5, "GBP"), Money(6, "GBP"))
    assert two < five
    assert total([], "GBP") == Money(0, "GBP")
    assert total([five, two, two], "GBP") == Money(9, "GBP")
    for mixed in (lambda: five - Money(1, "EUR"), lambda: total([Money(1, "EUR")], "GBP")):
        with pytest.raises(ValueError, match=r"^cannot mix GBP and EUR$"):
            mixed()
