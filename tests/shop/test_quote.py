"""The quote: what stands in it, and why."""

import json
from dataclasses import replace
from datetime import date

import pytest

from portal.craft.answers import About, Caution, CautionKind, Mask, RouteKind
from portal.craft.check_kinds import CheckKind
from portal.craft.messages import Message
from portal.craft.parts import (
    BareZone,
    Bringing,
    Damage,
    Effect,
    FinishChoice,
    Item,
    Layer,
    Metal,
    PartKind,
    PartSet,
    Remover,
    System,
    Tyre,
    WheelBuild,
)
from portal.shop.money import Money
from portal.shop.pricing.quote import Quote, quote, read_quote, write_quote
from portal.shop.pricing.quote_words import tax_said
from tests.shop.appraised import (
    PRICES,
    answer,
    appraisal,
    declared,
    keyed,
    plan,
    removal,
    route,
    tariff,
    wheels,
)

ON = date(2026, 6, 1)
SINGLE = plan(System.SINGLE)


def priced(*answers, bringing=Bringing.COMPLETE, prices=None, **more) -> Quote:
    order = declared(*answers, bringing=bringing, **more)
    return quote(order, appraisal(*answers, bringing=bringing), prices or tariff(), ON)


def amounts(found: Quote) -> dict[str, int]:
    return {one.key: one.amount.minor for one in found.lines}


def pounds(sum_of_money: Money) -> str:
    return f"{sum_of_money.major:.2f}"


@pytest.mark.parametrize(
    ("size", "price"),
    [
        *[(13, "48.00"), (13.5, "54.00"), (15, "54.00"), (17, "62.00"), (18, "72.00")],
        *[(19, "72.00"), (20, "84.00"), (22, "98.00"), (24, "98.00"), (26, "130.00")],
    ],
)
def test_a_wheel_is_priced_by_the_band_of_its_diameter(size: float, price: str) -> None:
    found = priced(answer(wheels(1, size), coats=SINGLE))
    assert pounds(found.total) == price
    assert found.firm


def test_a_hand_made_order_adds_up_to_what_a_person_gets_by_hand() -> None:
    """Four 18-inch wheels on tyres, paint stripped outside, kerb rash, translucent, rush."""
    one = answer(
        wheels(damage=(Damage.KERB_RASH,), fitted=(Item.TYRE, Item.SENSOR)),
        way=route(RouteKind.CHEMICAL, RouteKind.BLAST, outside=True),
        off=(removal(Item.TYRE), removal(Item.SENSOR)),
        coats=plan(System.TRANSLUCENT, Effect.TRANSLUCENT, bake=True),
    )
    found = priced(one, rush=True)
    assert amounts(found) == {
        "A.off.tyre": 4 * 600,
        "A.off.sensor": 4 * 400,
        "A.strip.chemical": 4 * 1400,
        "A.repair.kerb_rash": 4 * 1800,
        "A.coat": 4 * 7200,
        "A.system.translucent": 4 * 3800,
        "A.pre_bake": 4 * 350,
        "A.on.tyre": 4 * 900,
        "A.on.sensor": 4 * 400,
        "A.new.sensor_seal": 4 * 600,
        "A.new.core": 4 * 100,
        "transport": 1800,
        "rush": 18_000,  # 25 % of 720.00
    }
    # 720.00 + 180.00; the tax in it is a sixth
    assert pounds(found.total) == "900.00"
    assert pounds(found.tax) == "150.00"
    assert pounds(found.deposit) == "180.00"
    # kerb rash between 10.00 and 32.00 a wheel, and the rush on it
    assert pounds(found.low) == "860.00"
    assert pounds(found.high) == "970.00"


def test_every_line_says_what_and_why() -> None:
    found = priced(answer(wheels(damage=(Damage.KERB_RASH,)), coats=SINGLE), rush=True)
    for one in found.lines:
        assert one.says
        assert one.why
        assert one.low <= one.amount <= one.high
        assert one.firm is (one.low == one.high)


def test_line_keys_are_unique_and_each_times_count_is_the_amount() -> None:
    one = answer(wheels(), coats=plan(System.BASE_CLEAR, Effect.METALLIC))
    found = priced(one, keyed(one, "B"))
    keys = [x.key for x in found.lines]
    assert len(set(keys)) == len(keys)
    for x in found.lines:
        if x.each:
            assert x.each.times(x.count) == x.amount


def test_until_the_size_is_told_the_price_is_a_range() -> None:
    found = priced(answer(wheels(1, None), coats=SINGLE))
    assert not found.firm
    assert (pounds(found.low), pounds(found.total), pounds(found.high)) == (
        "48.00",
        "72.00",
        "130.00",
    )


def test_a_tyre_tells_the_size_of_a_wheel_too() -> None:
    one = replace(wheels(1, None), tyre=Tyre(rim_code=17))
    assert pounds(priced(answer(one, coats=SINGLE)).total) == "62.00"


def test_until_a_finish_is_chosen_the_price_begins_at_a_single_coat() -> None:
    found = priced(answer(wheels(1)))
    assert pounds(found.total) == "72.00"
    assert pounds(found.high) == "114.00"  # the dearest finish, a machined face under clear


def test_an_old_finish_that_nobody_knows_may_cost_more() -> None:
    cast = wheels(1, layers=(Layer.UNKNOWN,), build=WheelBuild.CAST)
    found = priced(answer(cast, coats=SINGLE))
    assert (pounds(found.total), pounds(found.high)) == ("72.00", "88.00")
    assert not found.firm
    # nor how it is made: it may be chrome-plated, and goes away for that
    chrome = priced(answer(wheels(1, layers=(Layer.UNKNOWN,)), coats=SINGLE))
    assert pounds(chrome.total) == "72.00"
    assert chrome.high.minor - found.high.minor == 5500 + 1800
    untold = priced(answer(wheels(1, layers=()), coats=SINGLE))
    assert not untold.firm


def test_what_the_customer_takes_off_costs_nothing() -> None:
    one = wheels(1, removers={Item.TYRE: Remover.YOU})
    found = priced(answer(one, off=[removal(Item.TYRE)], coats=SINGLE))
    assert pounds(found.total) == "72.00"


def test_bare_rims_are_not_refitted() -> None:
    one = wheels(1, removers={Item.WEIGHTS: Remover.US})
    found = priced(
        answer(one, off=[removal(Item.WEIGHTS, Remover.YOU, Remover.US)], coats=SINGLE),
        bringing=Bringing.BARE,
    )
    assert amounts(found) == {"A.off.weights": 100, "A.coat": 7200}


def test_the_whole_car_costs_taking_its_wheels_off() -> None:
    found = priced(answer(wheels(), coats=SINGLE), bringing=Bringing.WHOLE_CAR)
    assert amounts(found)["A.off_car"] == 4 * 600


def test_other_parts_never_come_off_a_car_here() -> None:
    calipers = PartSet("B", PartKind.CALIPER, 2, Metal.STEEL, layers=(Layer.BARE,))
    found = priced(answer(calipers, coats=SINGLE), bringing=Bringing.WHOLE_CAR)
    assert amounts(found) == {"B.coat": 2 * 4600}


def test_a_second_colour_is_paid_for_each_place_that_differs() -> None:
    finish = FinishChoice(System.SINGLE, "X", face="Y", barrel="X")
    found = priced(answer(wheels(1, finish=finish), coats=SINGLE))
    assert amounts(found)["A.second.face"] == 2400
    assert "A.second.barrel" not in amounts(found)


def test_a_multi_piece_wheel_pays_for_its_rebuild() -> None:
    found = priced(answer(wheels(2, build=WheelBuild.MULTI_PIECE), coats=SINGLE))
    assert amounts(found)["A.build.multi_piece"] == 2 * 6500


def test_usual_masking_of_a_wheel_is_in_its_price_and_the_rest_is_not() -> None:
    finish = FinishChoice(System.SINGLE, "X", bare=(BareZone.HUB_FACE, BareZone.THREADS))
    found = priced(answer(wheels(1, finish=finish), coats=SINGLE))
    assert amounts(found)["A.masking"] == 300
    plate = PartSet("B", PartKind.PLATE, 1, layers=(Layer.BARE,), size_mm=(1000, 1000, 3))
    masked = replace(
        answer(plate, coats=SINGLE, area=2.0),
        masks=(Mask(BareZone.THREADS, Message("They would clog.")),),
    )
    assert amounts(priced(masked))["B.masking"] == 300


def test_parts_are_priced_by_area_but_never_under_the_least() -> None:
    def plate(area: float | None) -> Quote:
        one = PartSet("B", PartKind.PLATE, 10, layers=(Layer.BARE,), size_mm=(1, 1, 1))
        return priced(answer(one, coats=SINGLE, area=area))

    assert pounds(plate(1.234).total) == "590.50"  # 10 × 1.23 m² × 48.00 = 590.40, to 0.50
    assert pounds(plate(0.01).total) == "60.00"
    assert not plate(None).firm


def test_frames_are_priced_by_their_longest_side() -> None:
    def frame(longest: float) -> str:
        one = PartSet("B", PartKind.FRAME, 1, layers=(Layer.BARE,), size_mm=(300, longest, 100))
        return pounds(priced(answer(one, coats=SINGLE)).total)

    assert [frame(x) for x in (700, 701, 1200, 2600, 9000)] == [
        "75.00", "110.00", "110.00", "190.00", "190.00",
    ]  # fmt: skip


def test_a_small_order_is_raised_to_the_smallest_charge() -> None:
    plate = PartSet(
        "B", PartKind.PLATE, 1, Metal.STEEL, layers=(Layer.BARE,), size_mm=(100, 100, 2)
    )
    found = priced(answer(plate, coats=SINGLE, area=0.02))
    assert amounts(found) == {"B.coat": 600, "minimum": 3900}
    assert pounds(found.total) == "45.00"


def test_a_small_order_pays_no_deposit_and_a_large_one_does() -> None:
    assert priced(answer(wheels(2), coats=SINGLE)).deposit.minor == 0
    assert pounds(priced(answer(wheels(4), coats=SINGLE)).deposit) == "57.50"  # 20 % of 288


def test_a_rush_costs_a_least_sum_which_counts_towards_the_smallest_charge() -> None:
    rushed = priced(answer(wheels(1, 13), coats=SINGLE), rush=True)
    assert amounts(rushed)["rush"] == 3000  # 25 % of 48.00 would be 12.00
    plate = PartSet(
        "B", PartKind.PLATE, 1, Metal.STEEL, layers=(Layer.BARE,), size_mm=(100, 100, 2)
    )
    small = priced(answer(plate, coats=SINGLE, area=0.02), rush=True)
    assert amounts(small) == {"B.coat": 600, "rush": 3000, "minimum": 900}


@pytest.mark.parametrize(
    ("at_least", "deposit"), [("5.00", "9.50"), ("30", "30.00"), ("90", "48.00")]
)
def test_a_deposit_is_at_least_a_sum_and_at_most_the_total(at_least: str, deposit: str) -> None:
    prices = tariff(deposit={"percent": "20", "from": "0", "at_least": at_least})
    found = priced(answer(wheels(1, 13), coats=SINGLE), prices=prices)  # 48.00 in all
    assert pounds(found.deposit) == deposit  # a fifth is 9.60, to the nearest 0.50


def test_the_drive_to_the_stripper_is_paid_once_an_order() -> None:
    one = answer(wheels(1), way=route(RouteKind.CHEMICAL, outside=True), coats=SINGLE)
    found = priced(one, keyed(one, "B"))
    assert amounts(found)["transport"] == 1800


def test_an_old_original_is_tested_once_an_order() -> None:
    one = answer(wheels(1), coats=SINGLE)
    tested = replace(one, checks=(CheckKind.LEAD,))
    assert amounts(priced(tested, keyed(tested, "B")))["old_coating"] == 2400
    assert "old_coating" not in amounts(priced(one))


def test_metal_that_nobody_knows_may_need_a_pre_bake() -> None:
    known = priced(answer(wheels(4), coats=SINGLE))
    found = priced(answer(wheels(4, metal=Metal.UNKNOWN), coats=SINGLE))
    assert found.total == known.total
    assert found.high.minor - known.high.minor == 4 * 350


def test_a_refused_set_costs_nothing() -> None:
    one = answer(wheels(), coats=SINGLE)
    no = answer(wheels(2, damage=(Damage.CRACK,)), coats=SINGLE, refused=True)
    assert priced(one, keyed(no, "B")).total == priced(one).total


def test_a_finish_that_cannot_be_made_still_shows_a_price_to_start_from() -> None:
    no = Caution(
        "unmade", CautionKind.REFUSE, Message("We have no such colour."), about=About.FINISH
    )
    one = replace(answer(wheels(1)), cautions=(no,))
    assert pounds(priced(one).total) == "72.00"


def test_nothing_declared_costs_nothing() -> None:
    empty = priced(rush=True)
    assert empty.lines == ()
    assert empty.total.minor == empty.deposit.minor == 0


def test_a_quote_is_kept_with_the_job_word_for_word() -> None:
    one = answer(wheels(damage=(Damage.CORROSION,)), coats=plan(System.BASE_CLEAR))
    found = priced(one, rush=True)
    kept = read_quote(json.loads(json.dumps(write_quote(found))))
    assert kept == found
    sentence = kept.lines[-1].why
    assert sentence.msgid == found.lines[-1].why.msgid
    assert sentence.values == found.lines[-1].why.values


def test_an_old_order_keeps_its_price_when_the_list_changes() -> None:
    one = answer(wheels(1), coats=SINGLE)
    kept = write_quote(priced(one))
    dearer = tariff(minimum="500.00")
    assert priced(one, prices=dearer).total.minor == 50_000
    assert pounds(read_quote(kept).total) == "72.00"


def test_tax_follows_the_day() -> None:
    one = answer(wheels(1), coats=SINGLE)
    order, said = declared(one), appraisal(one)
    old = quote(order, said, tariff(), date(2010, 6, 1))
    assert (str(old.tax_percent), old.tax.minor) == ("17.5", 1072)  # 72.00 × 17.5 ÷ 117.5
    assert old.total == quote(order, said, tariff(), ON).total


def test_every_word_of_the_trade_that_has_a_price_has_its_sentence() -> None:
    """A price for a route, item or effect without words would fail only when it is used."""
    from portal.shop.pricing import quote_words as words

    prices = PRICES
    assert set(prices["strip"]["routes"]) <= {str(kind) for kind in words.STRIP}
    assert set(prices["removal"]["off"]) <= {str(item) for item in words.OFF}
    assert set(prices["repairs"]) <= {str(damage) for damage in words.REPAIRS}
    assert set(prices["finishes"]["effects"]) <= {str(effect) for effect in words.EFFECTS}
    assert set(words.ON) == set(words.OFF) == set(Item)
    assert set(words.SYSTEMS) == set(System)
    assert set(words.PARTS) | {PartKind.WHEEL} == set(PartKind)


@pytest.mark.parametrize("name", ["Sales tax", "GST", ""])
def test_a_tax_of_no_known_kind_keeps_its_name(name: str) -> None:
    assert tax_said(name) == name
    assert tax_said(" Vat. ") == Message("VAT")
