"""The price list: what is written is what counts, and what can't be is named."""

from copy import deepcopy
from datetime import date
from decimal import Decimal

import pytest

from portal.craft.messages import CraftError
from portal.craft.parts import PartKind
from portal.craft.reading import write
from portal.shop.pricing.part_prices import PricedBy
from portal.shop.pricing.price_list import TaxMode, read_tariff
from tests.shop.appraised import PRICES, tariff


def changed(path: str, value: object) -> dict:
    """The demo's price list with one value changed; None takes it away."""
    body = deepcopy(PRICES)
    here = body
    *steps, last = path.split(".")
    for step in steps:
        here = here[int(step) if step.isdigit() else step]
    if value is None:
        del here[last]
    else:
        here[int(last) if last.isdigit() else last] = value
    return body


def test_the_demo_price_list_is_read() -> None:
    read = tariff()
    assert read.currency == "GBP"
    assert read.wheels.bands[0].price == 4800
    assert read.tax.mode is TaxMode.INCLUSIVE
    assert read.parts[PartKind.PLATE].by is PricedBy.AREA


def test_a_rate_of_tax_holds_from_its_day() -> None:
    tax = tariff().tax
    assert tax.percent(date(2011, 1, 3)) == Decimal("17.5")
    assert tax.percent(date(2011, 1, 4)) == Decimal(20)
    assert tax.percent(date(2030, 1, 1)) == Decimal(20)
    assert tax.percent(date(1990, 1, 1)) == Decimal("17.5")  # the first rate reaches back


def test_rates_may_be_written_in_any_order() -> None:
    rates = list(reversed(PRICES["tax"]["rates"]))
    assert read_tariff(changed("tax.rates", rates)).tax == tariff().tax


@pytest.mark.parametrize(
    ("path", "value", "key"),
    [
        ("minimum", 45.5, "minimum"),
        ("minimum", "4,50", "minimum"),
        ("minimum", "4.505", "minimum"),
        ("minimum", "-1", "minimum"),
        ("minimum", "NaN", "minimum"),
        ("minimum", None, "minimum"),
        ("currency", "pounds", "currency"),
        ("tax.mode", "some", "tax.mode"),
        ("tax.rates", [], "tax.rates"),
        ("tax.rates.0.percent", "101", "tax.rates[0].percent"),
        ("tax.rates.0.from", "yesterday", "tax.rates[0].from"),
        ("wheels.bands.1.up_to", 13, "wheels.bands[1].up_to"),
        ("wheels.bands", [], "wheels.bands"),
        ("wheels.builds", {"wooden": "5"}, "wheels.builds.wooden"),
        ("parts.caliper", None, "parts.caliper"),
        ("parts.caliper", {"by": "piece"}, "parts.caliper.price"),
        ("parts.caliper", {"by": "piece", "price": "5", "per_m2": "5"}, "parts.caliper.per_m2"),
        ("parts.caliper.by", ["piece"], "parts.caliper.by"),
        ("parts.wheel", {"by": "piece", "price": "5"}, "parts.wheel"),
        ("repairs.kerb_rash.usual", "99.00", "repairs.kerb_rash.usual"),
        ("finishes.systems.glitter", {"per_wheel": "1", "per_m2": "1"}, "finishes.systems.glitter"),
        ("customary.days", -1, "customary.days"),
        ("discount", "5", "discount"),
    ],
)
def test_what_cannot_be_is_refused_with_its_key(path: str, value: object, key: str) -> None:
    with pytest.raises(CraftError) as caught:
        read_tariff(changed(path, value))
    assert caught.value.key == key


def test_two_rates_on_one_day_are_refused() -> None:
    twice = [PRICES["tax"]["rates"][0]] * 2
    with pytest.raises(CraftError):
        read_tariff(changed("tax.rates", twice))


def test_a_price_list_is_written_as_it_is_read() -> None:
    assert read_tariff(write(tariff())) == tariff()
