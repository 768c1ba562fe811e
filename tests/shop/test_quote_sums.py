"""The sum of a quote, against a computation of its own, under every tax mode, to the cent."""

import random
from dataclasses import replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.answers import NewPart, RouteKind, SetAppraisal
from portal.craft.parts import (
    Bringing,
    Damage,
    Effect,
    FinishChoice,
    Item,
    Layer,
    PartKind,
    PartSet,
    Remover,
    System,
    WheelBuild,
)
from portal.shop.pricing.quote import Quote, difference, quote
from tests.readers import english
from tests.shop.appraised import (
    NEW,
    PRICES,
    answer,
    appraisal,
    declared,
    plan,
    removal,
    route,
    tariff,
    wheels,
)

ON = date(2026, 6, 1)
ITEMS = (Item.TYRE, Item.WEIGHTS, Item.VALVE, Item.SENSOR, Item.CENTRE_CAP)
ROUTES = (RouteKind.PEEL, RouteKind.BLAST, RouteKind.CHEMICAL, RouteKind.DEPLATE)


def pence(fraction: Fraction) -> int:
    """Half up, as a person does it, by Decimal."""
    exact = Decimal(fraction.numerator) / Decimal(fraction.denominator)
    return int(exact.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def major(text: str) -> Fraction:
    return Fraction(text) * 100


@st.composite
def wheel_sets(draw: st.DrawFn, key: str = "A") -> SetAppraisal:
    items = draw(st.sets(st.sampled_from(ITEMS)))
    one = wheels(
        draw(st.integers(1, 40)),
        draw(st.sampled_from([None, 13.0, 16.0, 18.0, 22.0, 26.0])),
        damage=tuple(draw(st.sets(st.sampled_from([Damage.KERB_RASH, Damage.CORROSION])))),
        build=draw(st.sampled_from([None, WheelBuild.CAST, WheelBuild.MULTI_PIECE])),
        layers=draw(st.sampled_from([(), (Layer.POWDER,)])),
        removers={item: draw(st.sampled_from([Remover.US, Remover.YOU])) for item in items},
        finish=draw(
            st.sampled_from([None, FinishChoice(System.SINGLE, "X", face="Y", barrel="Z")])
        ),
    )
    coats = None
    if one.finish:
        coats = plan(
            draw(st.sampled_from(System)),
            draw(st.sampled_from([Effect.SOLID, Effect.METALLIC])),
            bake=draw(st.booleans()),
        )
    kinds = tuple(draw(st.sets(st.sampled_from(ROUTES))))
    return answer(
        replace(one, key=key),
        way=route(*kinds, outside=draw(st.booleans())),
        off=[removal(item) for item in items],
        coats=coats,
    )


@st.composite
def plate_sets(draw: st.DrawFn) -> SetAppraisal:
    one = PartSet("P", PartKind.PLATE, draw(st.integers(1, 400)), layers=(Layer.BARE,))
    area = draw(st.none() | st.integers(1, 900).map(lambda n: n / 100))
    return answer(one, coats=plan(System.SINGLE), area=area)


orders = st.tuples(wheel_sets("A"), wheel_sets("B"), plate_sets())
bringings = st.sampled_from(Bringing)
percents = st.sampled_from(["0", "5", "7.7", "19", "20", "25", "8.875"])


def taxed(mode: str, percent: str, step: str, minimum: str = "45.00"):
    return tariff(
        tax={"mode": mode, "name": "Tax", "rates": [{"from": "2020-01-01", "percent": percent}]},
        rounding={"to": step},
        minimum=minimum,
    )


def sum_of(lines: int, *, rush: bool, step: str, minimum: str) -> Fraction:
    """What the lines come to after rush, smallest charge and rounding."""
    if not lines:
        return Fraction(0)
    amount = Fraction(lines)
    if rush:
        share = Fraction(lines) * Fraction(PRICES["rush"]["percent"]) / 100
        amount += max(major(PRICES["rush"]["at_least"]), pence(share))
    amount = max(amount, major(minimum))
    grid = max(Fraction(1), major(step))
    return pence(amount / grid) * grid


@given(
    orders,
    bringings,
    st.booleans(),
    st.sampled_from(["inclusive", "exclusive", "none"]),
    percents,
    st.sampled_from(["0.01", "0.05", "0.50", "1", "5"]),
    st.sampled_from(["0", "45.00", "2000.00"]),
)
def test_a_quote_sums_to_the_cent_under_every_tax_mode(
    sets, bringing, rush, mode, percent, step, minimum
) -> None:
    order = declared(*sets, bringing=bringing, rush=rush)
    prices = taxed(mode, percent, step, minimum)
    found = quote(order, appraisal(*sets, bringing=bringing), prices, ON)
    own = [x for x in found.lines if x.key not in {"rush", "minimum", "rounding"}]
    for total, listed in (
        (found.total, sum(x.amount.minor for x in own)),
        (found.low, sum(x.low.minor for x in own)),
        (found.high, sum(x.high.minor for x in own)),
    ):
        net = sum_of(listed, rush=rush, step=step, minimum=minimum)
        if mode == "exclusive":
            assert total.minor == net + pence(net * Fraction(percent) / 100)
        else:
            assert total.minor == net
    assert found.net + found.tax == found.total
    assert found.low <= found.total <= found.high
    assert found.deposit <= found.total
    on_paper = sum(x.amount.minor for x in found.lines)
    if mode == "inclusive":
        assert on_paper == found.total.minor
        rate = Fraction(percent)
        assert found.tax.minor == pence(Fraction(found.total.minor) * rate / (100 + rate))
    else:
        assert on_paper == found.net.minor
    if mode == "none":
        assert found.tax.minor == 0


def wheel_price(one: SetAppraisal, bringing: Bringing) -> int:
    """The price of a wheel set from the price list's own text, a second way."""
    part, each = one.part_set, Fraction(0)
    size = part.rim.diameter_code if part.rim else PRICES["wheels"]["assume"]
    bands = PRICES["wheels"]["bands"]
    each += major(next(b for b in bands if b["up_to"] >= size)["price"])
    if part.build:
        each += major(PRICES["wheels"]["builds"].get(str(part.build), "0"))
    for damage in part.damage:
        each += major(PRICES["repairs"][str(damage)]["usual"])
    for kind in set(one.route.kinds):
        each += major(PRICES["strip"]["routes"].get(str(kind), {"per_wheel": "0"})["per_wheel"])
    if bringing is Bringing.WHOLE_CAR:
        each += major(PRICES["removal"]["wheels_off_car"])
    new: set[NewPart] = set()
    for item in (r.item for r in one.removals if part.removers[r.item] is Remover.US):
        each += major(PRICES["removal"]["off"].get(str(item), "0"))
        if bringing is not Bringing.BARE:
            each += major(PRICES["removal"]["refit"].get(str(item), "0"))
            new |= set(NEW.get(item, ()))
    each += sum(major(PRICES["removal"]["new_parts"][str(name)]) for name in new)
    if one.coats:
        finishes = PRICES["finishes"]
        extra = [finishes["systems"].get(str(one.coats.system)), finishes["second_colour"]]
        extra += [finishes["second_colour"]]  # face and barrel both differ
        extra += [finishes["pre_bake"]] if one.coats.pre_bake else []
        extra += [finishes["effects"].get(str(one.coats.coats[0].powder.effect))]
        each += sum(major(work["per_wheel"]) for work in extra if work)
    return int(each * part.count)


@given(wheel_sets(), bringings)
def test_the_lines_of_a_wheel_set_are_what_the_price_list_says(one, bringing) -> None:
    found = quote(declared(one), appraisal(one, bringing=bringing), tariff(), ON)
    assert sum(x.amount.minor for x in found.lines if x.set_key) == wheel_price(one, bringing)


@given(orders, bringings, st.integers())
def test_the_order_of_choices_never_changes_the_price(sets, bringing, seed) -> None:
    shuffle = random.Random(seed).shuffle

    def mixed(things):
        things = list(things)
        shuffle(things)
        return tuple(things)

    def turned(one: SetAppraisal) -> SetAppraisal:
        part = one.part_set
        return replace(
            one,
            part_set=replace(
                part,
                damage=mixed(part.damage),
                fitted=mixed(part.fitted),
                removers=dict(mixed(part.removers.items())),
            ),
            removals=mixed(one.removals),
            route=replace(one.route, kinds=mixed(one.route.kinds)),
        )

    other = mixed(turned(one) for one in sets)
    straight = quote(declared(*sets), appraisal(*sets, bringing=bringing), tariff(), ON)
    turned_round = quote(declared(*other), appraisal(*other, bringing=bringing), tariff(), ON)
    assert turned_round.total == straight.total
    assert {x.key: x.amount for x in turned_round.lines} == {
        x.key: x.amount for x in straight.lines
    }


@given(
    orders,
    orders,
    bringings,
    st.booleans(),
    st.sampled_from(["inclusive", "exclusive", "none"]),
    percents,
)
def test_a_difference_adds_up_to_the_change_of_the_total(
    before, after, bringing, rush, mode, percent
) -> None:
    prices = taxed(mode, percent, "0.50")

    def priced(sets) -> Quote:
        order = declared(*sets, bringing=bringing, rush=rush)
        return quote(order, appraisal(*sets, bringing=bringing), prices, ON)

    first, second = priced(before), priced(after)
    lines = difference(first, second)
    assert sum(x.amount.minor for x in lines) == second.total.minor - first.total.minor
    assert all(x.low <= x.amount <= x.high for x in lines)
    assert difference(first, first) == ()


def test_parts_that_only_move_to_another_set_cost_no_difference() -> None:
    whole = answer(wheels(4), coats=plan(System.SINGLE))
    three = answer(wheels(3), coats=plan(System.SINGLE))
    bent = wheels(1, damage=(Damage.KERB_RASH,))
    one = answer(replace(bent, key="B"), coats=plan(System.SINGLE))
    before = quote(declared(whole), appraisal(whole), tariff(), ON)
    after = quote(declared(three, one), appraisal(three, one), tariff(), ON)
    (line,) = difference(before, after)
    assert line.key == "B.repair.kerb_rash"
    assert (line.amount.minor, line.low.minor, line.high.minor) == (1800, 1000, 3200)


def test_what_is_no_longer_needed_comes_back_with_a_minus() -> None:
    one = wheels(4)
    before = answer(one, off=[removal(Item.TYRE)], coats=plan(System.SINGLE))
    after = answer(one, coats=plan(System.SINGLE))
    first = quote(declared(before), appraisal(before), tariff(), ON)
    second = quote(declared(after), appraisal(after), tariff(), ON)
    lines = difference(first, second)
    assert [x.amount.minor for x in lines] == [-2400, -3600]
    assert {english(x.why) for x in lines} == {"No longer needed."}
    assert all(x.firm and x.low == x.high == x.amount for x in lines)
    gone = [x for x in first.lines if x.key in ("A.off.tyre", "A.on.tyre")]
    assert [(x.key, x.count, x.each) for x in lines] == [(x.key, x.count, x.each) for x in gone]
    back = difference(second, first)
    assert [x.amount.minor for x in back] == [2400, 3600]
    assert [x.why for x in back] == [x.why for x in gone]


@pytest.mark.parametrize(
    ("gross", "percent", "tax"),
    [("120.00", "20", 2000), ("100.00", "7.7", 715), ("117.50", "17.5", 1750)],
)
def test_the_tax_in_a_gross_price_is_the_guides_fraction(
    gross: str, percent: str, tax: int
) -> None:
    """r ÷ (100 + r), a sixth at 20 % and 7/47 at 17.5 %: the VAT fraction of the UK's guide to
    VAT (Notice 700), from memory."""
    prices = taxed("inclusive", percent, "0.01", minimum=gross)
    one = answer(wheels(1, 13), coats=plan(System.SINGLE))
    found = quote(declared(one), appraisal(one), prices, ON)
    assert found.total.minor == major(gross)
    assert found.tax.minor == tax
