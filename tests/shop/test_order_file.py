"""An order file: what is wrong with it is said with its line and its key."""

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from portal.craft.messages import CraftError, Message
from portal.shop import appraisal
from portal.shop.appraisal import appraise_file, days_of
from tests.readers import english

SEED = Path(__file__).resolve().parents[2] / "demo_seed"
SHOP = (SEED / "shop.toml").read_text("utf-8")
POWDERS = (SEED / "powders.csv").read_text("utf-8")
ORDER = """bringing = "complete"

[[sets]]
kind = "wheel"
count = 4
build = "cast"
rim = { diameter_code = 18, width_code = 8 }
layers = ["factory_paint"]

[sets.finish]
system = "single"
colour = "CODE"
gloss = "gloss"
"""
CODE = next(row.split(",")[0] for row in POWDERS.splitlines()[1:] if "solid" in row)


def raiser(wrong: CraftError) -> Callable[..., None]:
    def refuse(*_args: object) -> None:
        raise wrong

    return refuse


def refused(order: str, shop: str = SHOP) -> str:
    with pytest.raises(CraftError) as caught:
        appraise_file(order, shop, POWDERS)
    told = english(caught.value.sentence)
    # the key is in the sentence, and beside it for who reads no sentences
    assert caught.value.key in told
    assert bool(caught.value.key) == (", " in told.partition(": ")[0])
    return told


def test_an_order_is_appraised_and_its_days_add_up() -> None:
    found = appraise_file(ORDER.replace("CODE", CODE), SHOP, POWDERS)
    assert [one.count for one in found.order.declared.sets] == [4]
    assert {way.bringing.value for way in found.ways} == {"bare", "complete", "whole_car"}
    days = days_of(found)
    told = found.order.appraisal
    assert days.outside == told.outside_days
    assert days.waiting_for_powder == max(told.powder_days, told.sample_days)
    assert days.together == days.here + days.outside + days.waiting_for_powder
    assert days.here > 0


def test_what_stands_on_no_line_is_told_with_its_key_alone(monkeypatch) -> None:
    wrong = CraftError(Message("It won't do."), key="sets[7].gone")
    monkeypatch.setattr(appraisal, "_check_powders", raiser(wrong))
    assert refused(ORDER) == "the order, sets[7].gone: It won't do."


def test_no_calendar_is_wanted_where_no_day_is_asked_for() -> None:
    shop = SHOP.replace('subdivision = "ENG"', 'subdivision = "NOWHERE"')
    assert shop != SHOP
    assert (
        appraise_file(ORDER.replace("CODE", CODE), shop, POWDERS).shop.week.subdivision == "NOWHERE"
    )


def test_a_powder_that_the_shop_does_not_have_is_named_with_its_line() -> None:
    assert refused(ORDER) == (
        "the order, line 12, sets[0].finish.colour: We have no powder “CODE”."
    )


def test_an_order_without_parts_is_refused_by_itself() -> None:
    said = "The order names no parts. Add a [[sets]] table for each kind of part."
    assert refused("").endswith(said)


def test_what_is_no_toml_says_so() -> None:
    with pytest.raises(tomllib.TOMLDecodeError) as wrong:
        tomllib.loads("= 4")
    assert refused("= 4") == f"We can't read this TOML file: {wrong.value}"


def test_a_mistake_in_the_shop_s_file_is_looked_for_there() -> None:
    said = refused(ORDER, SHOP.replace('currency = "GBP"', 'currency = "pounds"', 1))
    line = SHOP[: SHOP.index('currency = "GBP"')].count("\n") + 1
    assert said.startswith(f"the shop file, line {line}, prices.currency: ")


def test_a_key_that_stands_on_no_line_is_named_alone() -> None:
    said = refused(ORDER.replace("CODE", CODE), SHOP.replace('phone = "', 'fone = "', 1))
    assert said.startswith("the shop file, ")
    assert "shop.phone: " in said
