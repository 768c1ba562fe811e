"""The forecast against sums that a person can do.

Without spread a forecast is plain addition: the tests add it up themselves.
"""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from portal.craft.reading import read
from portal.shop.calendar.hours import Hours
from portal.shop.route import PartStage
from portal.shop.scheduling.forecast import JobWork, PartState
from portal.shop.scheduling.station import Oven, Stations
from tests.shop.floors import (
    EXACT,
    MONDAY,
    a_floor,
    a_job,
    a_work,
    after,
    likely,
    seen,
    with_station,
)

FRIDAY = MONDAY - timedelta(days=2, hours=14)  # at the end of work
ONE_PART = 8 + 10 + 12 + 9 + (30 + 15) + 15 + 4  # prep, blast, colour, coat, oven, cooling, look


# sums by hand


def test_one_part_on_an_empty_floor_takes_the_sum_of_its_minutes():
    found = seen(a_job(1))
    assert likely(found) == after(ONE_PART)
    assert found.outlook[1].safe_at == likely(found)  # nothing can vary here


def test_four_parts_take_four_times_the_hands_and_one_time_the_oven():
    assert likely(seen(a_job(1, parts=4))) == after(4 * (8 + 10 + 9 + 4) + 12 + 45 + 15)


def test_two_coats_pass_booth_and_oven_twice_and_refit_comes_last():
    work = a_work(coats=2, refit=15.0)
    assert likely(seen(a_job(1, work))) == after(ONE_PART + 9 + 45 + 15 + 15)


def test_a_pre_bake_is_one_more_stay_in_the_oven():
    work = a_work(pre_bake=(180, 20.0))
    assert likely(seen(a_job(1, work))) == after(ONE_PART + 30 + 20 + 15)


def test_a_part_that_stands_further_on_has_only_the_rest_before_it():
    for stage, rest in {
        PartStage.BLAST: ONE_PART - 8,
        PartStage.COAT: ONE_PART - 18,
        PartStage.CURE: 45 + 15 + 4,
        PartStage.INSPECT: 4,
    }.items():
        assert likely(seen(a_job(1, stage=stage))) == after(rest), stage


def test_a_refit_that_takes_no_time_in_the_books_is_still_a_station():
    # the office may write nought minutes while parts stand there; in working time Friday's
    # closing is Monday's opening
    assert likely(seen(a_job(1, a_work(refit=0.0), stage=PartStage.REFIT))) == FRIDAY


def test_a_second_coat_that_is_still_to_come_is_counted():
    one = a_job(1, a_work(coats=2), stage=PartStage.COAT, done=1)
    assert likely(seen(one)) == after(12 + 9 + 45 + 15 + 4)


def test_a_slow_pace_stretches_that_station_alone():
    slow = with_station(EXACT, PartStage.BLAST, pace=1.5)
    assert likely(seen(a_job(1), stations=slow)) == after(ONE_PART + 5)


def test_what_does_not_fit_into_the_day_goes_on_the_next_morning():
    late = MONDAY.replace(hour=17)
    found = likely(seen(a_job(1, comes=late), now=late))
    assert found == after(ONE_PART - 60, MONDAY + timedelta(days=1))
    friday = late + timedelta(days=4)
    found = likely(seen(a_job(1, comes=friday), now=friday))
    assert found == after(ONE_PART - 60, MONDAY + timedelta(days=7))


def test_a_job_that_comes_later_is_not_begun_before_it_comes():
    comes = MONDAY + timedelta(days=2, hours=1)
    assert likely(seen(a_job(1, comes=comes))) == after(ONE_PART, comes)


def test_a_job_that_comes_in_a_year_is_forecast_too():
    comes = MONDAY + timedelta(days=364)
    assert likely(seen(a_job(1, comes=comes))) > comes


def test_a_job_is_done_when_its_last_set_is_done():
    slow = a_work(set_key="B", refit=60.0)
    quick, whole = a_job(1), a_job(1, slow)
    both = JobWork(1, (*quick.parts, *whole.parts), MONDAY)
    assert likely(seen(both)) >= likely(seen(whole)) > likely(seen(quick))


# what is left out


def test_a_job_with_nothing_left_is_left_out():
    done = a_job(1, stage=PartStage.DONE)
    gone = a_job(2, stage=PartStage.GONE)
    empty = JobWork(3, (), MONDAY)
    found = seen(done, gone, empty, a_job(4))
    assert set(found.outlook) == {4}
    assert all(set(jobs) == {4} for jobs in found.sequence.values())


def test_an_empty_floor_has_no_outlook():
    assert seen().outlook == {}
    assert seen(a_job(1, stage=PartStage.DONE)).outlook == {}


def test_parts_that_are_done_do_not_hold_their_job_up():
    rest = a_job(1, stage=PartStage.INSPECT)
    done = PartState(a_work(), PartStage.DONE, 1, MONDAY)
    assert likely(seen(replace(rest, parts=(*rest.parts, done)))) == after(4)


# stations


def test_a_station_out_of_order_delays_what_needs_it_until_it_runs_again():
    down = ((MONDAY - timedelta(hours=1), MONDAY + timedelta(hours=4)),)
    broken = with_station(EXACT, PartStage.BLAST, down=down)
    assert likely(seen(a_job(1), stations=broken)) == after(4 * 60 + ONE_PART - 8)
    # who is past it does not care
    inspect = a_job(1, stage=PartStage.INSPECT)
    assert likely(seen(inspect, stations=broken)) == after(4)


def test_a_station_that_breaks_in_the_middle_goes_on_where_it_stopped():
    down = ((after(8 + 4), after(8 + 4 + 60)),)  # four of ten blast minutes are done
    broken = with_station(EXACT, PartStage.BLAST, down=down)
    assert likely(seen(a_job(1), stations=broken)) == after(ONE_PART + 60)


def test_a_station_with_hours_of_its_own_waits_for_them():
    hours = read(Hours, {"tue": ["09:00-12:00"]})
    rare = with_station(EXACT, PartStage.INSPECT, hours=hours)
    tuesday = MONDAY + timedelta(days=1, hours=1)
    assert likely(seen(a_job(1), stations=rare)) == after(4, tuesday)


def test_the_station_named_is_the_one_where_the_job_waits_longest():
    jobs = [a_job(n, a_work(blast=60.0), parts=2) for n in range(1, 9)]
    found = seen(*jobs)
    assert {found.outlook[n].station for n in range(3, 9)} == {PartStage.BLAST}


def test_two_places_halve_the_time_of_a_queue():
    jobs = [a_job(n, a_work(inspect=60.0), stage=PartStage.INSPECT) for n in range(1, 9)]
    two = with_station(EXACT, PartStage.INSPECT, places=2)
    last_of_one, last_of_two = (
        max(one.likely_at for one in seen(*jobs, stations=floor).outlook.values())
        for floor in (EXACT, two)
    )
    assert (last_of_one, last_of_two) == (after(8 * 60), after(4 * 60))


# colours, oven loads, order


def a_booth() -> Stations:
    """A floor on which only the booth costs time."""
    return a_floor(oven=Oven(heat_up=0, cool_down=0))


def at_the_booth(job_id: int, colour: str, minutes_ago: float = 0) -> JobWork:
    work = a_work(colour, coat=(30.0,), inspect=1.0)
    work = replace(work, cures=(replace(work.cures[0], minutes=1.0),))
    return a_job(job_id, work, stage=PartStage.COAT, comes=after(-minutes_ago))


def test_two_jobs_of_one_colour_in_a_row_save_a_colour_change():
    alike = seen(at_the_booth(1, "BLACK", 2), at_the_booth(2, "BLACK", 1), stations=a_booth())
    apart = seen(at_the_booth(1, "BLACK", 2), at_the_booth(2, "RED", 1), stations=a_booth())
    assert likely(apart, 1) == likely(alike, 1)
    assert likely(apart, 2) - likely(alike, 2) == timedelta(minutes=12)


def test_a_job_of_the_colour_in_the_booth_goes_before_one_that_came_hardly_earlier():
    jobs = (at_the_booth(1, "BLACK", 3), at_the_booth(2, "RED", 2), at_the_booth(3, "BLACK", 1))
    found = seen(*jobs, stations=a_booth())
    assert found.sequence[PartStage.COAT] == (1, 3, 2)


def test_jobs_that_cure_alike_share_a_load_and_those_apart_wait_for_the_oven():
    black, red = (a_job(n, a_work(c), stage=PartStage.CURE) for n, c in ((1, "B"), (2, "R")))
    hot = a_work("R")
    hot = replace(hot, cures=(replace(hot.cures[0], cure_c=200),))
    shared, apart = seen(black, red), seen(black, a_job(2, hot, stage=PartStage.CURE))
    alone = after(45 + 15 + 4)
    assert likely(shared, 1) == alone
    assert likely(shared, 2) == after(45 + 15 + 4 + 4)  # only inspection comes one by one
    assert sorted(likely(apart, n) for n in (1, 2)) == [alone, after(45 + 45 + 15 + 4)]


def test_who_came_earlier_and_was_promised_earlier_goes_first():
    jobs = [
        a_job(
            n,
            stage=PartStage.BLAST,
            comes=after(-n * 60, FRIDAY),
            promise=MONDAY + timedelta(days=10 - n),
        )
        for n in (1, 2, 3)
    ]
    assert seen(*jobs).sequence[PartStage.BLAST] == (3, 2, 1)


def test_a_promise_that_would_break_goes_before_who_came_earlier():
    hour = a_work(blast=60.0)
    early = [
        a_job(n, hour, stage=PartStage.BLAST, comes=after(-n * 60, FRIDAY)) for n in range(2, 6)
    ]
    soon = MONDAY + timedelta(hours=3)
    pressed = a_job(1, hour, stage=PartStage.BLAST, comes=FRIDAY, promise=soon)
    found = seen(*early, pressed)
    assert found.sequence[PartStage.BLAST][0] == 1
    assert likely(found) <= soon
    assert likely(seen(*early, replace(pressed, promise_at=None))) > soon


# strip runs


def a_stripped(comes: datetime) -> JobWork:
    return a_job(1, a_work(outside_days=2), comes=comes)


def test_a_part_ready_at_the_cut_off_catches_the_run_and_a_minute_later_waits_for_the_next():
    tuesday = MONDAY + timedelta(days=1)
    ready_at_ten, ready_a_minute_later = after(112, tuesday), after(113, tuesday)
    rest = ONE_PART - 8
    # Tuesday's run is back on Thursday at three, Friday's on the Tuesday after
    thursday, next_tuesday = (tuesday + timedelta(days=d, hours=7) for d in (2, 7))
    assert likely(seen(a_stripped(ready_at_ten))) == after(rest, thursday)
    assert likely(seen(a_stripped(ready_a_minute_later))) == after(rest, next_tuesday)


def test_a_strip_that_takes_longer_than_the_run_comes_back_later():
    long = a_job(1, a_work(outside_days=4))
    back = MONDAY + timedelta(days=7, hours=7)  # four working days after Tuesday
    assert likely(seen(long)) == after(ONE_PART - 8, back)


def test_a_part_that_is_out_comes_back_with_its_own_run():
    left = MONDAY.replace(hour=9) - timedelta(days=3)  # the Friday before
    out = a_job(1, a_work(outside_days=2), stage=PartStage.STRIP, comes=left)
    tuesday = MONDAY + timedelta(days=1, hours=7)
    assert likely(seen(out)) == after(ONE_PART - 8, tuesday)


def test_a_run_that_is_overdue_is_expected_with_one_of_the_next_and_not_in_the_past():
    left = MONDAY.replace(hour=9) - timedelta(days=6)  # Tuesday; was due on Thursday
    out = a_job(1, a_work(outside_days=2), stage=PartStage.STRIP, comes=left)
    assert after(ONE_PART - 8) < likely(seen(out)) < MONDAY + timedelta(days=4)


def test_nobody_waits_for_a_part_of_an_overdue_run():
    left = MONDAY.replace(hour=9) - timedelta(days=6)
    out = a_job(1, a_work(outside_days=2), stage=PartStage.STRIP, comes=left)
    here = a_job(2, stage=PartStage.BLAST)
    assert likely(seen(out, here), 2) == likely(seen(here), 2)


# chance


def test_the_same_input_gives_the_same_forecast_and_another_seed_another():
    stations = replace(a_floor(spread=0.3), rework_rate=0.1)
    jobs = [a_job(n, parts=4, comes=after(-n)) for n in range(1, 8)]
    assert seen(*jobs, stations=stations) == seen(*jobs, stations=stations)
    assert seen(*jobs, stations=stations) != seen(*jobs, stations=stations, seed=8)


def test_with_spread_the_likely_moment_stays_near_the_sum_and_the_safe_one_inside_the_spread():
    found = seen(a_job(1), stations=a_floor(spread=0.25), replications=400).outlook[1]
    hands, wait = (found.likely_at - MONDAY, found.safe_at - MONDAY)
    assert abs(hands - timedelta(minutes=ONE_PART)) < timedelta(minutes=0.06 * ONE_PART)
    # standard deviations of independent times add in squares; 1.645 of them are 95 in 100
    # (normal table); the sum of log-normals leans a little to the right
    deviation = (2**2 + 2.5**2 + 2.25**2 + 11.25**2 + 1) ** 0.5
    assert wait - hands == pytest.approx(
        timedelta(minutes=1.645 * deviation), abs=timedelta(minutes=8)
    )


def test_rework_makes_the_safe_moment_later():
    jobs = (a_job(1, parts=4),)
    kept = seen(*jobs, stations=a_floor(spread=0.2)).outlook[1]
    redone = seen(*jobs, stations=a_floor(spread=0.2, rework_rate=0.3)).outlook[1]
    assert redone.safe_at > kept.safe_at + timedelta(minutes=30)


def test_late_strip_runs_make_the_safe_moment_later_and_not_the_likely_one():
    job = a_stripped(MONDAY)
    kept, late = (
        seen(job, stations=a_floor(strip_late_rate=rate), replications=400).outlook[1]
        for rate in (0.0, 0.2)
    )
    assert late.likely_at == kept.likely_at
    assert late.safe_at == kept.safe_at + timedelta(days=1)
