"""A firm's prices: its share comes off what is done to parts, its own prices count as written."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from portal.craft.declared import read_declared
from portal.craft.messages import CraftError
from portal.craft.parts import Item, System
from portal.shop.assessment.assess import assess
from portal.shop.pricing.firm_prices import LIST_PRICES, FirmPrices, read_firm_prices, tariff_for
from portal.shop.shop import Shop, read_shop
from tests.factories import WHEELS

SEED = Path(__file__).parents[2] / "demo_seed"
DAY = date(2026, 3, 2)
COMPLETE = {
    **WHEELS,
    "fitted": ["tyre", "valve"],
    "removers": {"tyre": "us", "valve": "us"},
    "finish": {"system": "base_clear", "colour": "R9005-S", "gloss": "gloss"},
}


@pytest.fixture(scope="module")
def shop() -> Shop:
    return read_shop(*((SEED / name).read_text("utf-8") for name in ("shop.toml", "powders.csv")))


def priced(shop, own: FirmPrices, *sets, **order):
    told = read_declared({"sets": list(sets or (WHEELS,)), "bringing": "bare", **order})
    return assess(told, replace(shop, tariff=tariff_for(shop.tariff, own)), DAY).quote


def lines(quote) -> dict[str, int]:
    return {one.key.partition(".")[2] or one.key: one.amount.minor for one in quote.lines}


def test_without_own_prices_a_firm_pays_the_list_and_no_deposit(shop) -> None:
    told = read_declared({"sets": [WHEELS], "bringing": "bare"})
    listed = assess(told, shop, DAY).quote
    own = priced(shop, LIST_PRICES)
    assert listed.deposit.minor > 0
    assert own == replace(listed, deposit=replace(listed.deposit, minor=0))


@pytest.mark.parametrize("percent", ["10", "12.5", "33.3", "100"])
def test_the_share_comes_off_each_price_of_the_list(shop, percent) -> None:
    own = FirmPrices(percent_off=Decimal(percent))
    factor = (100 - Decimal(percent)) / 100
    cut, listed = tariff_for(shop.tariff, own), shop.tariff
    pairs = [
        *zip(
            (band.price for band in cut.wheels.bands),
            (band.price for band in listed.wheels.bands),
            strict=True,
        ),
        *((cut.removal.off[item], listed.removal.off[item]) for item in Item),
        *(
            (cut.finishes.systems[one].per_wheel, listed.finishes.systems[one].per_wheel)
            for one in System
        ),
        *((cut.repairs[one].high, listed.repairs[one].high) for one in listed.repairs),
        (cut.strip.transport, listed.strip.transport),
    ]
    assert len(pairs) > 20
    for ours, theirs in pairs:
        assert abs(ours - theirs * factor) <= Decimal("0.5")
    # what is no price of work stays
    assert cut.minimum == listed.minimum
    assert cut.tax == listed.tax
    assert cut.rush == listed.rush
    assert [band.up_to for band in cut.wheels.bands] == [b.up_to for b in listed.wheels.bands]


def test_own_prices_count_as_they_are_written_beside_the_share(shop) -> None:
    body = {
        "percent_off": "10",
        "wheels": [{"up_to": 17, "price": "50"}, {"up_to": 30, "price": "60"}],
        "systems": {"base_clear": "12"},
        "tyre_off": "4",
        "tyre_on": "6",
    }
    own = read_firm_prices(body, shop.currency)
    found = lines(priced(shop, own, COMPLETE, bringing="complete"))
    assert found["coat"] == 4 * 6000
    assert found["system.base_clear"] == 4 * 1200
    assert found["off.tyre"] == 4 * 400
    assert found["on.tyre"] == 4 * 600
    listed = lines(priced(shop, LIST_PRICES, COMPLETE, bringing="complete"))
    assert found["off.valve"] == round(listed["off.valve"] * Decimal("0.9"))


def test_fetching_costs_what_the_shop_or_the_firm_says_and_nothing_where_it_is_not_sold(shop):
    sold = replace(shop, tariff=replace(shop.tariff, fetching=2500))
    assert "fetching" not in lines(priced(sold, LIST_PRICES))
    assert lines(priced(sold, LIST_PRICES, fetched=True))["fetching"] == 2500
    assert lines(priced(sold, FirmPrices(fetching=1800), fetched=True))["fetching"] == 1800
    unsold = replace(shop, tariff=replace(shop.tariff, fetching=0))
    assert "fetching" not in lines(priced(unsold, LIST_PRICES, fetched=True))


@pytest.mark.parametrize(
    ("body", "key"),
    [
        ({"percent_off": "101"}, "percent_off"),
        ({"percent_off": "-1"}, "percent_off"),
        ({"tyre_on": "1.234"}, "tyre_on"),
        ({"wheels": [{"up_to": 17, "price": "5"}, {"up_to": 16, "price": "6"}]}, "wheels[1].up_to"),
        ({"systems": {"gold": "1"}}, "systems.gold"),
        ({"tyres": "1"}, "tyres"),
    ],
)
def test_what_cannot_be_a_price_is_refused_at_its_key(shop, body, key) -> None:
    with pytest.raises(CraftError) as wrong:
        read_firm_prices(body, shop.currency)
    assert wrong.value.key == key
