"""Who is expected beside those who have booked: by weekday, mix and lead, as the record has it."""

from collections import Counter
from datetime import timedelta

import numpy as np
import pytest

from portal.shop.route import PartStage
from portal.shop.scheduling.expected_bookings import (
    PRIOR_LOAD,
    ExpectedBookings,
    PastBooking,
    with_prior,
)
from portal.shop.scheduling.forecast import read_forecast, simulate_floor
from portal.shop.scheduling.lots import lots_of
from portal.shop.scheduling.sim_inputs import AT_MOST, SWING
from tests.shop.floors import EXACT, MONDAY, WEEK, a_floor, a_job, a_week, a_work, with_station

DAY = timedelta(days=1)
TEN = MONDAY + timedelta(hours=2)


def booking(day: int, ahead: float, weekly: float = 1.0, parts: int = 1) -> PastBooking:
    """A booking of the week before, `day` days after its Monday."""
    comes = TEN + (day - 7) * DAY
    return PastBooking((a_work(),) * parts, comes, ahead * DAY, weekly)


def expected(*record: PastBooking, now=MONDAY, days: int = 28, week=WEEK):
    return ExpectedBookings(record, week).jobs(now, now + days * DAY)


def test_a_booking_stands_for_one_a_week_on_its_weekday_and_hour():
    found = expected(booking(2, 0.0))
    assert [job.arrives_at for job in found] == [TEN + (2 + 7 * n) * DAY for n in range(4)]
    assert not any(job.booked for job in found)


def test_who_books_long_before_has_booked_already():
    # it books ten days before it comes: of those to come within ten days none is left
    found = expected(booking(2, 10.0))
    assert [job.arrives_at for job in found] == [TEN + (2 + 7 * n) * DAY for n in (2, 3)]


def test_as_many_come_in_the_mean_as_are_booked_a_week():
    record = [booking(n % 5, n % 3, weekly=0.3) for n in range(20)]
    many = expected(*record, days=7 * 40)
    # 20 bookings of 0.3 a week: six a week; the first days miss who has booked already
    assert len(many) == pytest.approx(240, abs=8)
    by_day = Counter(job.arrives_at.weekday() for job in many)
    assert set(by_day) == {0, 1, 2, 3, 4}
    # Mondays have holidays
    assert max(by_day.values()) - min(by_day.values()) <= 6


def test_the_same_day_expects_the_same_whenever_it_is_asked():
    bookings = ExpectedBookings([booking(n % 5, n % 4, 0.4) for n in range(20)], WEEK)
    early = bookings.jobs(MONDAY, MONDAY + 14 * DAY)
    late = bookings.jobs(MONDAY + 2 * DAY, MONDAY + 14 * DAY)
    assert {job.job_id for job in late} < {job.job_id for job in early}


def test_nobody_is_expected_on_a_closed_day():
    closed = a_week(closures=[{"from": "2026-06-03", "to": "2026-06-03"}])
    day = MONDAY.date()
    days = {job.arrives_at.date() for job in expected(booking(2, 0.0), week=closed, days=14)}
    assert closed.is_working_day(day)
    assert all(closed.is_working_day(one) for one in days)


def test_a_shop_without_a_record_expects_what_its_busiest_station_bears():
    stations = with_station(a_floor(), PartStage.BLAST, minutes=30.0)
    record = with_prior((), 0.0, stations, WEEK)
    blast = sum(
        one.weekly * len(one.works) * one.works[0].minutes[PartStage.BLAST] for one in record
    )
    assert blast == pytest.approx(PRIOR_LOAD * 5 * 600)


def test_a_long_record_outweighs_the_prior():
    stations = with_station(a_floor(), PartStage.BLAST, minutes=30.0)
    own = [booking(n % 5, 1.0, parts=7) for n in range(30)]
    record = with_prior(own, 27.0, stations, WEEK)
    assert sum(one.weekly for one in record if len(one.works) == 7) == pytest.approx(1.0)
    prior = sum(one.weekly for one in record if len(one.works) != 7)
    assert prior == pytest.approx(sum(one.weekly for one in with_prior((), 0, stations, WEEK)) / 10)


def test_a_replication_draws_nobody_one_or_several_and_counts_a_part_of_the_swing():
    jobs = expected(*[booking(n % 5, 0.0) for n in range(20)], days=7)
    floor = simulate_floor(jobs, EXACT, WEEK, MONDAY, seed=3)
    lots = lots_of(jobs, EXACT, floor.line.at, floor.sim.now)
    many = floor.sim.multiples(lots)
    assert many.mean() == pytest.approx(1.0, abs=0.05)
    # Poisson with mean 1 has variance 1, and nobody comes in one of e cases
    assert many.var() == pytest.approx(SWING**2, abs=0.1 * SWING**2)
    assert (many == many.min()).mean() == pytest.approx(np.exp(-1), abs=0.03)
    assert many.min() == pytest.approx(1 - SWING)
    assert AT_MOST[-1] == pytest.approx(1.0, abs=1e-3)


def test_expected_customers_put_off_a_late_drop_off_and_have_no_outlook():
    late = a_job(1, parts=4, comes=MONDAY + 11 * DAY)
    others = expected(*[booking(n % 5, 0.0, parts=12) for n in range(25)], days=14)
    alone = simulate_floor([late], EXACT, WEEK, MONDAY, seed=3)
    among = simulate_floor([late, *others], EXACT, WEEK, MONDAY, seed=3)
    last = simulate_floor([*others, late], EXACT, WEEK, MONDAY, seed=3)
    assert set(read_forecast(last).outlook) == {1}
    assert among.replayed.ready[0].mean() > alone.replayed.ready[0].mean() + 60
    read = read_forecast(among)
    assert set(read.outlook) == {1}
    assert {job for jobs in read.sequence.values() for job in jobs} == {1}
