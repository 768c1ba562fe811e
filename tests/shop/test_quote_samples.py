"""What an order costs and takes while its colour is decided from samples."""

from datetime import date

from portal.craft.appraise import Practice, appraise
from portal.craft.parts import Declared, Effect, System
from portal.shop.pricing.quote import quote
from portal.shop.scheduling.stations import part_work
from tests.craft.shelf import SHELF, finish, wheels
from tests.shop.appraised import tariff
from tests.shop.floors import a_floor

ON = date(2026, 6, 1)
PRACTICE = Practice(stock=SHELF)


def priced(choice):
    order = Declared(sets=(wheels(finish=choice),))
    return quote(order, appraise(order, PRACTICE), tariff(), ON)


def open_(system):
    return finish(system, "", decide_from_sample=True)


def test_the_price_spans_every_powder_that_the_system_could_use():
    plain = priced(finish(System.BASE_CLEAR, "BLACK"))
    metallic = priced(finish(System.BASE_CLEAR, "STRAW"))
    left = priced(open_(System.BASE_CLEAR))
    assert metallic.total.minor > plain.total.minor
    assert (left.low, left.total, left.high) == (plain.total, plain.total, metallic.total)
    assert not left.firm


def test_what_only_some_colours_cost_is_a_line_that_may_come_to_nothing():
    lines = {one.key: one for one in priced(open_(System.SINGLE)).lines}
    effect = lines[f"A.effect.{Effect.METALLIC}"]
    assert effect.amount.minor == 0
    assert effect.low.minor == 0
    assert effect.each.minor == 0
    assert effect.high.minor == tariff().finishes.effects[Effect.METALLIC].per_wheel * 4
    assert lines["A.coat"].firm


def test_where_every_colour_costs_the_same_the_price_is_firm():
    assert priced(open_(System.TEXTURE)).firm


def test_the_work_is_that_of_the_longest_and_names_no_powder():
    order = Declared(sets=(wheels(finish=open_(System.BASE_CLEAR)),))
    work = part_work(appraise(order, PRACTICE).sets[0], a_floor(), refit=False)
    assert len(work.coat) == 2
    assert [cure.powder for cure in work.cures] == ["", "CLEAR"]
