"""The status page's data: what the link's holder may see, in few statements."""

from datetime import timedelta

import pytest
import sqlalchemy as sa
from sqlalchemy import event

from portal.craft.declared import read_declared
from portal.craft.parts import Item
from portal.craft.refit import guide, guide_for
from portal.orders.counter.customer_answers import answer_by_link
from portal.orders.counter.finding_answers import CustomerQuestion
from portal.orders.counter.hand_back import HandBack, hand_back, make_ready
from portal.orders.customer.inspection_view import sheet
from portal.orders.customer.slip_view import drop_off_behind, slip
from portal.orders.customer.status_view import code_behind, price_of, status
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.refit_guide import refit
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.tables import Job
from tests.factories import (
    TWO_COATS,
    WHEELS,
    a_booked_job,
    a_job_at,
    a_job_in_work,
    a_token,
    bring_to,
    last_event_id,
)
from tests.readers import english
from tests.rows import forecast_of


def change(unit, job, **values):
    unit.write(lambda s: s.execute(sa.update(Job).where(Job.id == job.job_id).values(**values)))


def statements(unit, work) -> int:
    """How many statements that ask for something are sent while `work` runs."""
    sent = []
    engine = unit._engine()

    def count(_connection, _cursor, statement, *_more):
        if statement.lstrip().upper().startswith(("SELECT", "WITH")):
            sent.append(statement)

    event.listen(engine, "before_cursor_execute", count)
    try:
        work()
    finally:
        event.remove(engine, "before_cursor_execute", count)
    return len(sent)


def sent_home(unit):
    job = a_job_at(unit, PartStage.DONE)
    make_ready(unit, job.job_id, who=None)
    due = status(unit, job.token).balance.to_pay.minor
    given = HandBack(job.pickup_code, [1, 2, 3, 4], [], due, PaymentMethod.CARD)
    hand_back(
        unit,
        job.job_id,
        given,
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )
    return job


def test_a_booked_job_shows_its_drop_off_and_what_it_costs(unit):
    job = a_booked_job(unit)
    page = status(unit, job.token)
    assert page.coming
    assert page.state is JobState.BOOKED
    assert page.balance.to_pay == page.balance.total
    assert page.pickup_code == ""
    assert page.refit == ()
    assert [english(s.title) for s in page.stops][:2] == ["Booked", "Drop-off"]


def test_the_link_is_read_in_either_case(unit):
    job = a_booked_job(unit)
    assert status(unit, job.token.lower()).token == job.token


def test_a_page_needs_at_most_four_statements(unit):
    job = a_job_at(unit, PartStage.CURE, TWO_COATS)
    status(unit, job.token)
    assert statements(unit, lambda: status(unit, job.token)) <= 4
    assert statements(unit, lambda: status(unit, job.token, lambda _: True)) <= 2


def test_nothing_that_a_page_shows_changes_without_its_standing(unit, clock):
    told = []

    def standing(job):
        status(unit, job.token, lambda now: bool(told.append(now)))
        return told[-1]

    job = a_job_in_work(unit)
    first = standing(job)
    assert standing(job) == first
    bring_to(unit, job, PartStage.BLAST)
    second = standing(job)
    assert second != first
    later = clock.now() + timedelta(days=3)
    unit.write(lambda s: forecast_of(s, job.job_id, later, told_at=later))
    third = standing(job)
    assert third != second
    clock.advance(days=30)  # what was told has passed
    assert standing(job) != third


@pytest.mark.parametrize("token", ["", "A" * 26, "../../etc", "A" * 5000, "🛞", "a'--"])
def test_a_link_that_is_none_is_unknown(unit, token):
    a_booked_job(unit)
    with pytest.raises(Unknown) as refusal:
        status(unit, token)
    assert "We can't find a job for this link. Part of it" in english(refusal.value.sentence)


def answered(unit, token):
    return answer_by_link(
        unit, token, CustomerQuestion((1,), 1), accepted=True, digits="0000", once_token=a_token()
    )


@pytest.mark.parametrize(
    "opens",
    [status, price_of, slip, drop_off_behind, refit, sheet, answered],
    ids=lambda f: f.__name__,
)
def test_a_link_that_is_over_is_as_unknown_as_one_that_never_was(unit, clock, opens):
    job = sent_home(unit)
    if opens is not answered:
        opens(unit, job.token.lower())
    clock.advance(days=31)
    with pytest.raises(Unknown) as over:
        opens(unit, job.token)
    with pytest.raises(Unknown) as never:
        opens(unit, "A" * 26)
    assert over.value.sentence == never.value.sentence


def test_the_pickup_code_and_hours_show_while_the_job_is_ready(unit, clock):
    job = a_job_at(unit, PartStage.DONE)
    assert status(unit, job.token).pickup_code == ""
    make_ready(unit, job.job_id, who=None)
    page = status(unit, job.token)
    assert page.pickup_code == job.pickup_code
    assert len(page.pickup) == 4
    assert all(day.hours for day in page.pickup)
    assert page.pickup[0].day == clock.now().date()


def test_hours_that_are_over_are_not_offered(unit, clock):
    job = a_job_at(unit, PartStage.DONE)
    make_ready(unit, job.job_id, who=None)
    clock.set(clock.now().replace(hour=20))
    assert status(unit, job.token).pickup[0].day > clock.now().date()


def test_a_job_that_went_home_gets_the_refit_guide_for_what_came_off(unit):
    job = sent_home(unit)
    page = status(unit, job.token)
    assert page.pickup_code == ""
    assert page.balance.to_pay.minor == 0
    keys = {step.key for step in page.refit}
    assert "look" in keys
    assert any(step.caution for step in page.refit)


def test_a_later_date_is_told_to_the_customer_and_a_forecast_is_not(unit, clock):
    job = a_job_in_work(unit)
    promise = status(unit, job.token).promise_at
    later = promise + timedelta(days=3)
    unit.write(lambda s: forecast_of(s, job.job_id, later))
    assert not status(unit, job.token).late
    unit.write(lambda s: forecast_of(s, job.job_id, later, told_at=later))
    page = status(unit, job.token)
    assert page.late
    assert page.dates.now_by == later
    clock.advance(days=30)
    assert status(unit, job.token).overdue


def test_a_job_that_is_ready_is_never_called_late(unit, clock):
    job = a_job_at(unit, PartStage.DONE)
    make_ready(unit, job.job_id, who=None)
    later = clock.now() + timedelta(days=300)
    unit.write(lambda s: forecast_of(s, job.job_id, later, told_at=later))
    assert not status(unit, job.token).late


def test_staff_find_the_job_behind_a_link(unit):
    job = a_booked_job(unit)
    assert code_behind(unit, job.token) == job.code
    with pytest.raises(Unknown):
        code_behind(unit, "B" * 26)


def test_the_price_is_kept_line_by_line(unit):
    job = a_booked_job(unit)
    price, sets, _account = price_of(unit, job.token)
    assert price
    assert [one.count for one in sets] == [4]
    assert price.total == status(unit, job.token).balance.total
    assert sum(line.amount.minor for line in price.lines) == price.total.minor


def test_what_stayed_on_is_not_in_the_refit_guide_of_the_page_or_the_letter():
    told = {**WHEELS, "fitted": ["centre_cap", "tyre"], "removers": {"centre_cap": "stays"}}
    sets = read_declared({"sets": [told]}).sets
    assert guide(sets, {Item.TYRE}) != guide(sets, {Item.TYRE, Item.CENTRE_CAP})
    assert guide_for(read_declared({"sets": [told]})) == guide(sets, {Item.TYRE})
