"""What powder to buy: with what is booked counted in, and told in time."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.orders.kernel.errors import Already, Refused, Unknown
from portal.orders.office import powders
from portal.orders.office.powder_orders import drop_order, order_powder, to_buy
from portal.orders.production import floor
from portal.orders.production.floor_view import floor_view
from portal.orders.production.marks import Mark
from portal.shop.route import PartStage
from portal.store.tables import PowderOrder
from tests.factories import TWO_COATS, a_booked_job, a_job_at

CODE = "R9005-S"


def line(unit):
    return next(one for one in powders.powders(unit) if one.powder.code == CODE)


def wants(unit, job) -> int:
    """The grams that the parts of a job take, as their cards say."""
    (card,) = [one for one in floor_view(unit).groups if one.job_id == job.job_id]
    return card.coat.grams * len(card.parts)


def test_what_is_booked_counts_until_it_is_sprayed(unit) -> None:
    assert line(unit).booked_kg == 0
    booked = a_booked_job(unit)
    one = line(unit).booked_kg
    assert one > 0
    a_job_at(unit, PartStage.COAT)
    assert line(unit).booked_kg == pytest.approx(2 * one)
    in_oven = a_job_at(unit, PartStage.CURE, first_tag=201)
    assert line(unit).booked_kg == pytest.approx(2 * one)
    assert booked.code != in_oven.code


def test_the_coat_that_is_to_come_counts_when_the_first_is_on(unit) -> None:
    job = a_job_at(unit, PartStage.CURE, TWO_COATS)
    (card,) = floor_view(unit).groups
    base, clear = (coat.powder_code for coat in card.card.coats)
    by_code = {one.powder.code: one.booked_kg for one in powders.powders(unit)}
    assert (by_code[base], by_code[clear] > 0) == (0, True)
    assert job.code


def test_too_little_is_told_in_boxes_and_by_a_day(unit) -> None:
    assert to_buy(unit) == ()
    powders.stocktake(unit, CODE, 100, who=None)
    job = a_booked_job(unit)
    (buy,) = to_buy(unit)
    assert buy.code == CODE
    assert buy.short_kg == pytest.approx(buy.booked_kg - 0.1)
    assert buy.boxes == 1
    # promised for Monday a week later; a box takes working days, and ordered a day later it is late
    lead, due = line(unit).powder.lead_days, unit.now().date() + timedelta(days=7)
    with unit.read() as session:
        week = unit.shop(session).week
    assert week.working_days_after(buy.order_by, lead) <= due
    assert week.working_days_after(buy.order_by + timedelta(days=1), lead) > due
    order_powder(unit, CODE, 20_000, unit.now().date() + timedelta(days=2), who=None)
    assert to_buy(unit) == ()
    assert line(unit).on_order_kg == 20
    assert job.code


def test_a_delivery_closes_what_was_ordered(unit) -> None:
    soon, later = (unit.now().date() + timedelta(days=n) for n in (2, 9))
    order_powder(unit, CODE, 20_000, later, who=None)
    order_powder(unit, CODE, 5_000, soon, who=None)
    powders.delivery(unit, CODE, 8_000, who=None)
    seen = powders.powder(unit, CODE)
    assert [(one.kg, one.due_on) for one in seen.on_order] == [(17.0, later)]
    powders.delivery(unit, CODE, 100_000, who=None)
    assert powders.powder(unit, CODE).on_order == ()


def test_an_order_is_checked_and_can_be_dropped(unit) -> None:
    today = unit.now().date()
    for grams, due in (
        (0, today),
        (500, today - timedelta(days=1)),
        (500, today.replace(year=2199)),
    ):
        with pytest.raises(Refused):
            order_powder(unit, CODE, grams, due, who=None)
    with pytest.raises(Unknown):
        order_powder(unit, "NONE", 500, today, who=None)
    order_powder(unit, CODE, 500, today, who=None)
    with unit.read() as session:
        number = session.scalar(sa.select(PowderOrder.id))
    with pytest.raises(Unknown):
        drop_order(unit, "EMBER-S", number, who=None)
    drop_order(unit, CODE, number, who=None)
    with pytest.raises(Already):
        drop_order(unit, CODE, number, who=None)
    assert line(unit).on_order_kg == 0


def test_the_floor_says_which_sets_the_powder_will_not_do_for(unit) -> None:
    first = a_job_at(unit, PartStage.COAT)
    second = a_job_at(unit, PartStage.COAT, first_tag=201)
    need = wants(unit, first)
    powders.stocktake(unit, CODE, need + 50, who=None)
    seen = floor_view(unit)
    short = {one.job_id: seen.short.get(one.parts[0].id) for one in seen.groups}
    assert short[first.job_id] is None
    assert short[second.job_id].left_kg == pytest.approx(0.05)
    assert short[second.job_id].wants_kg == pytest.approx(need / 1000)
    marked = {one.job_id for one in seen.groups if Mark.POWDER in seen.marks(one)}
    assert marked == {second.job_id}


def test_a_stock_below_zero_is_said_and_not_hidden(unit) -> None:
    job = a_job_at(unit, PartStage.COAT)
    powders.stocktake(unit, CODE, 50, who=None)
    moved = floor.move_on(unit, job.part_ids, to=PartStage.CURE, who=None)
    assert moved[-1].weigh is not None
    assert line(unit).below_zero
    powders.stocktake(unit, CODE, 5_000, who=None)
    assert not line(unit).below_zero
