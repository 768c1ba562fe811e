"""A powder's cure against the parts that heat softens, as the office is told on saving."""

import math

import pytest

from portal.craft.appraise import Practice
from portal.craft.heat import minutes_at_200
from portal.craft.parts import Effect, PartKind, Powder, WheelBuild
from portal.craft.suits import unsuited
from tests.craft.shelf import SHELF

HOT = Powder("HOT", "Hot black", (10, 0, 0), 85, cure=(200, 10), stock_kg=80)
PRACTICE = Practice(stock={"HOT": HOT}, heat_limit_min_at_200=45)


def of(powder, **more):
    stock = {**SHELF, powder.code: powder}
    practice = Practice(stock=stock, heat_limit_min_at_200=45, **more)
    return {one.what: one for one in unsuited(powder, practice)}


def test_the_commonest_cure_is_too_hot_for_what_is_baked_before_it_is_coated() -> None:
    found = of(HOT)
    assert set(found) == {WheelBuild.CAST, WheelBuild.CHROME_PLATED, PartKind.CALIPER}
    assert found[WheelBuild.CAST].limit == 45


def test_the_minutes_are_those_of_three_bakes_and_their_warming_up() -> None:
    """An independent sum: pre-bake 20, cure 10, one spare 10, each after 30 minutes' warming up.

    The way to 200 °C is the exponential of `craft.heat`, summed here in steps of a second.
    """
    seconds = 30 * 60
    warming = sum(
        minutes_at_200(200 - 180 * math.exp(-3.5 * (second + 0.5) / seconds), 1 / 60)
        for second in range(seconds)
    )
    assert warming == pytest.approx(6, abs=1)
    told = of(HOT)[WheelBuild.CAST].minutes
    assert told == pytest.approx(20 + 10 + 10 + 3 * warming, abs=2.5)


def test_a_cooler_powder_can_be_used_on_everything() -> None:
    assert not of(Powder("MILD", "Mild", (10, 0, 0), 85, cure=(180, 10), stock_kg=1))


def test_a_clear_coat_is_judged_on_top_of_the_coolest_colour() -> None:
    hot = Powder("HOT-C", "Hot clear", (92, 0, 0), 88, Effect.CLEAR, cure=(200, 20), stock_kg=9)
    assert WheelBuild.CAST in of(hot)
    cool = Powder("MILD-C", "Mild clear", (92, 0, 0), 88, Effect.CLEAR, cure=(160, 10), stock_kg=9)
    assert not of(cool)


def test_a_shop_with_a_higher_limit_uses_it_on_everything() -> None:
    assert not unsuited(HOT, Practice(stock={"HOT": HOT}, heat_limit_min_at_200=90))
