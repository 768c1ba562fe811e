"""Currencies with 0, 2 and 3 decimals, checked against ISO 4217 as Babel has it (Unicode CLDR)."""

import re
from copy import deepcopy
from decimal import Decimal

import pytest
from babel.core import get_global
from babel.numbers import get_currency_precision, list_currencies
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.messages import CraftError
from portal.render.appraisal_text import text_of
from portal.render.money import amount, money
from portal.render.reader import Reader, reader_for
from portal.shop.appraisal import appraise_file
from portal.shop.money import DIGITS, Money, TooFine, digits_of
from portal.shop.pricing.price_list import read_tariff
from tests.conftest import SEED
from tests.readers import english
from tests.shop.appraised import PRICES

ENGLISH = Reader("en")
CODES = sorted(list_currencies())


def test_every_currency_has_the_decimals_of_the_standard() -> None:
    assert {code: digits_of(code) for code in CODES} == {
        code: get_currency_precision(code) for code in CODES
    }
    assert set(DIGITS) == {
        code
        for code, (digits, *_) in get_global("currency_fractions").items()
        if code != "DEFAULT" and digits != 2
    }


@given(st.sampled_from(["JPY", "GBP", "BHD", "CLF"]), st.integers(-(10**9), 10**9))
def test_major_and_minor_units_are_each_other(code: str, minor: int) -> None:
    one = Money(minor, code)
    assert Money.of(one.major, code) == one
    assert Money.of(Decimal(one.plain), code) == one


@pytest.mark.parametrize(("code", "sum_"), [("JPY", "45.50"), ("GBP", "1.005"), ("BHD", "1.0005")])
def test_no_coin_is_so_small(code: str, sum_: str) -> None:
    with pytest.raises(TooFine):
        Money.of(Decimal(sum_), code)


@pytest.mark.parametrize(
    ("sum_", "column", "sentence"),
    [
        (Money(4_550, "JPY"), "¥4,550", "¥4,550"),
        (Money(4_550, "GBP"), "£45.50", "£45.50"),
        (Money(4_500, "GBP"), "£45.00", "£45"),
        (Money(45_500, "BHD"), "BHD\xa045.500", "BHD\xa045.500"),
        (Money(45_000, "BHD"), "BHD\xa045.000", "BHD\xa045"),
    ],
)
def test_a_sum_is_written_with_its_decimals(sum_: Money, column: str, sentence: str) -> None:
    assert money(sum_, ENGLISH) == column
    assert amount(sum_, ENGLISH) == sentence
    assert money(sum_, Reader("de"))


def in_currency(code: str, minimum: object) -> dict:
    """The demo's price list in another currency, every price a whole one but the minimum."""
    found = whole(deepcopy(PRICES))
    return {**found, "currency": code, "minimum": minimum}


def whole(value):
    if isinstance(value, dict):
        return {key: whole(one) for key, one in value.items()}
    if isinstance(value, list):
        return [whole(one) for one in value]
    is_sum = isinstance(value, str) and re.fullmatch(r"\d+\.\d+", value)
    return str(int(Decimal(value))) if is_sum else value


@pytest.mark.parametrize(
    ("code", "minimum", "minor"),
    [
        ("JPY", "45", 45),
        ("GBP", "45", 4_500),
        ("GBP", "45.50", 4_550),
        ("BHD", "45", 45_000),
        ("BHD", "45.505", 45_505),
    ],
)
def test_a_price_list_is_read_in_the_decimals_of_its_currency(code, minimum, minor) -> None:
    assert read_tariff(in_currency(code, minimum)).minimum == minor


@pytest.mark.parametrize(
    ("code", "minimum", "says"),
    [
        ("JPY", "45.50", "Enter a whole price: JPY has no decimals."),
        ("GBP", "45.505", "Enter a price with at most two decimals."),
        ("BHD", "45.5055", "Enter a price with at most 3 decimals."),
    ],
)
def test_a_price_finer_than_a_coin_is_no_price(code, minimum, says) -> None:
    with pytest.raises(CraftError) as caught:
        read_tariff(in_currency(code, minimum))
    assert english(caught.value.sentence) == says
    assert caught.value.key == "minimum"


def shop_in(code: str, shop_text: str) -> str:
    """The demo's shop in another currency, at whole prices."""
    head, mark, prices = shop_text.partition("[prices]")
    prices = re.sub(r'"(\d+)\.\d+"', r'"\1"', prices)
    return head + mark + prices.replace('currency = "GBP"', f'currency = "{code}"', 1)


@pytest.mark.parametrize("code", ["JPY", "BHD"])
@pytest.mark.parametrize("name", ["four_bronze_wheels", "bare_rims_translucent"])
def test_an_order_is_appraised_in_yen_and_dinar(
    code: str, name: str, shop_text: str, powders_text: str
) -> None:
    order = (SEED / "orders" / f"{name}.toml").read_text("utf-8")
    found = appraise_file(order, shop_in(code, shop_text), powders_text)
    quote = found.order.quote
    assert sum(one.amount.minor for one in quote.lines) == quote.total.minor
    assert quote.deposit == quote.total.share(Decimal("0.2"))
    text = text_of(found, reader_for(found.shop, "en"))
    together = re.search(rf"Together +([\d,]+(?:\.\d+)?) {code}$", text, re.MULTILINE)
    assert together
    assert Decimal(together[1].replace(",", "")) == quote.total.major
    assert len(together[1].partition(".")[2]) == {"JPY": 0, "BHD": 3}[code]
    deposit = re.search(r"deposit ([\d,.]+)$", text, re.MULTILINE)
    assert not quote.deposit.minor or Decimal(deposit[1].replace(",", "")) == quote.deposit.major
