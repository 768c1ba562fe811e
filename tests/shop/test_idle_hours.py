"""No promise ends in hours of the day in which nothing gets done."""

from datetime import time, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.shop.calendar.hours import DAYS
from portal.shop.route import INSPECTION, PartStage
from portal.shop.scheduling.forecast import Floor, simulate_floor
from portal.shop.scheduling.idle_hours import without_idle_hours
from portal.shop.scheduling.stations import Stations
from tests.deep import examples
from tests.shop.floors import MONDAY, SEED, WEEK, a_floor, a_job, a_week, a_work, with_station

ALL_DAY = a_floor(0.25)
NOON = a_week(work={key: ["12:00-15:00"] for key in DAYS[:5]}).work
NOONS = with_station(ALL_DAY, PartStage.COAT, hours=NOON)
DAY = 600.0  # ten working hours


def a_floor_of(jobs: int, stations: Stations) -> Floor:
    # as many as the booth gets done in a week, one after the other
    queue = [
        a_job(n, a_work(blast=20.0), parts=4, comes=MONDAY + timedelta(days=n % 5, minutes=13 * n))
        for n in range(1, jobs + 1)
    ]
    return simulate_floor(queue, stations, WEEK, MONDAY, seed=SEED)


def moved(floor: Floor, days: int, clock: time) -> float:
    """By how many working minutes a promise at a clock time becomes earlier."""
    at = MONDAY.replace(hour=clock.hour, minute=clock.minute) + timedelta(days=days)
    promised = np.array([floor.line.at(at)])
    return float((promised - without_idle_hours(floor, promised))[0])


def test_what_is_not_done_in_the_evening_is_not_promised_for_the_morning():
    floor = a_floor_of(40, NOONS)
    # the booth is open from twelve to three, so nothing is looked at from eight to twelve
    looks = floor.placing.starts(INSPECTION, 10)
    assert np.mean((looks - floor.sim.now) % DAY < 240) < 0.01
    assert moved(floor, 2, time(8, 10)) == pytest.approx(10)
    assert moved(floor, 2, time(11)) == pytest.approx(180)
    # in the afternoon things get done
    assert moved(floor, 2, time(15)) == 0
    # over a weekend the evening before is Friday's
    assert moved(floor, 7, time(11)) == pytest.approx(180)


def test_where_things_get_done_all_day_every_hour_is_promised():
    floor = a_floor_of(60, ALL_DAY)
    assert [moved(floor, 2, time(hour)) for hour in range(8, 18)] == [0] * 10


def test_a_floor_with_few_jobs_does_not_show_its_day():
    assert moved(a_floor_of(12, NOONS), 2, time(11)) == 0
    assert moved(simulate_floor([], NOONS, WEEK, MONDAY, seed=SEED), 2, time(11)) == 0


@examples(30)
@given(st.lists(st.floats(0, 14 * DAY), min_size=2, max_size=20))
def test_a_promise_is_never_put_off_and_the_later_stays_the_later(after):
    floor = FLOOR
    promised = np.sort(np.array(after)) + floor.sim.now
    found = without_idle_hours(floor, promised)
    assert (found <= promised).all()
    assert (np.diff(found) >= -1e-6).all()
    # by a day at most
    assert (promised - found <= DAY).all()


FLOOR = a_floor_of(40, NOONS)
