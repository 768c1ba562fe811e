"""The promise: stable, monotone, on an open hour, and no earlier than the work allows.

Monotony and stability are the shop's own rule for a promise; the sums are done by hand.
"""

from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.shop.calendar.week import Window
from portal.shop.route import PartStage
from portal.shop.scheduling.promising import Offer
from tests.deep import examples
from tests.shop.floors import (
    MONDAY,
    SEED,
    WEEK,
    a_job,
    a_week,
    a_work,
    after,
    seen,
    with_station,
    worked,
)
from tests.shop.promised import CANDIDATE, ONE_PART, PLAIN, SPREAD, a_queue, one, promised

# sums by hand


def test_on_an_empty_floor_the_date_is_the_end_of_the_window_and_the_work():
    for offer in promised(one()):
        assert offer.raw_at == after(ONE_PART, offer.window.end)


def test_four_wheels_take_four_times_the_hands_and_one_time_the_oven():
    offer = promised(one(4))[0]
    assert offer.raw_at == after(4 * (8 + 10 + 9 + 4) + 45 + 15, offer.window.end)


def test_the_date_told_is_the_pickup_hour_after_it():
    offer = promised(one())[0]
    assert offer.window.end == MONDAY + timedelta(minutes=30)
    assert offer.raw_at == MONDAY + timedelta(minutes=121)
    assert offer.ready_at == MONDAY + timedelta(hours=3)


def test_what_is_done_after_closing_time_is_ready_the_next_morning():
    long = one(refit=9 * 60.0)
    offer = promised(long)[0]
    assert offer.ready_at == offer.raw_at.replace(minute=0) + timedelta(hours=1)
    assert offer.raw_at.date() == MONDAY.date() + timedelta(days=1)


def test_a_drop_off_that_misses_the_strip_run_by_a_minute_costs_the_next_run():
    tuesday = MONDAY + timedelta(days=1)
    at_eight, later = (
        Window(start, start + timedelta(minutes=30), 2)
        for start in (tuesday + timedelta(minutes=82), tuesday + timedelta(minutes=83))
    )
    caught, missed = promised(one(outside_days=2), windows=(at_eight, later))
    # prep ends at ten, or a minute past: back on Thursday, or on the Tuesday after
    assert caught.raw_at == after(ONE_PART - 8, tuesday + timedelta(days=2, hours=7))
    assert missed.raw_at == after(ONE_PART - 8, tuesday + timedelta(days=7, hours=7))


def test_a_load_with_room_and_the_same_cure_is_joined():
    # the others need the oven for the whole day, load after load, three quarters full
    size = (1000.0, 1000.0, 1000.0)
    heavy = a_work(envelope_mm=size, mass_kg=90.0)
    friday = MONDAY - timedelta(days=3)
    queue = [a_job(n, heavy, parts=2, stage=PartStage.CURE, comes=friday) for n in range(1, 10)]
    window = WEEK.windows(MONDAY.date(), 1)[:1]
    joining = promised(one(mass_kg=10.0), *queue, windows=window)[0]
    alone = promised(one(mass_kg=200.0), *queue, windows=window)[0]
    assert worked(joining.raw_at) < worked(alone.raw_at)


def test_a_margin_puts_the_promise_off_by_so_many_working_minutes():
    queue = a_queue(6)
    before, bare, after_it = (
        promised(one(4), *queue, stations=SPREAD, margin=margin)[0].raw_at
        for margin in (-40.0, 0.0, 90.0)
    )
    assert worked(bare) - worked(before) == pytest.approx(
        timedelta(minutes=40), abs=timedelta(minutes=1)
    )
    assert worked(after_it) - worked(bare) == pytest.approx(
        timedelta(minutes=90), abs=timedelta(minutes=1)
    )


def test_the_promise_agrees_with_the_forecast_of_the_job_once_it_is_booked():
    window = WEEK.windows(MONDAY.date(), 1)[:1]
    for length in (0, 3, 8, 15):
        queue = a_queue(length, parts=4, blast=15.0)
        raw = promised(one(4), *queue, windows=window, stations=SPREAD)[0].raw_at
        booked = a_job(CANDIDATE, a_work(), parts=4, comes=window[0].end)
        safe = seen(*queue, booked, stations=SPREAD, replications=400).outlook[CANDIDATE].safe_at
        assert worked(raw) == pytest.approx(
            worked(safe), abs=max(timedelta(minutes=45), 0.12 * worked(safe))
        )


# the same


def test_the_same_input_gives_the_same_promise_and_another_seed_hardly_another():
    queue = a_queue(8, parts=4)
    first = promised(one(4), *queue, stations=SPREAD)
    assert promised(one(4), *queue, stations=SPREAD) == first
    other = promised(one(4), *queue, stations=SPREAD, seed=SEED + 1)
    for a, b in zip(first, other, strict=True):
        assert abs(worked(a.raw_at) - worked(b.raw_at)) < timedelta(hours=1.5)


def test_no_windows_no_offers():
    assert promised(one(), windows=()) == ()


# monotone


def assert_never_earlier(steps: list[tuple[Offer, ...]]) -> None:
    for before, now in pairwise(steps):
        for a, b in zip(before, now, strict=True):
            assert a.raw_at <= b.raw_at
            assert a.ready_at <= b.ready_at


def test_more_wheels_are_never_promised_earlier():
    queue = a_queue(5)
    assert_never_earlier([promised(one(parts), *queue, stations=SPREAD) for parts in range(1, 14)])


def test_a_longer_queue_is_never_promised_earlier():
    assert_never_earlier(
        [promised(one(4), *a_queue(length), stations=SPREAD) for length in range(14)]
    )


def test_more_coats_refit_and_slower_stations_are_never_promised_earlier():
    queue = a_queue(4)
    assert_never_earlier(
        [promised(one(2, coats=coats), *queue, stations=SPREAD) for coats in (1, 2, 3)]
    )
    assert_never_earlier(
        [promised(one(2, refit=minutes), *queue, stations=SPREAD) for minutes in (0.0, 15.0, 60.0)]
    )


@pytest.mark.parametrize(
    "key", [PartStage.PREP, PartStage.BLAST, PartStage.COAT, PartStage.CURE, PartStage.INSPECT]
)
def test_a_slower_station_puts_the_promise_off(key):
    queue = a_queue(4)
    found = [
        promised(one(2), *queue, stations=with_station(SPREAD, key, pace=pace))
        for pace in (0.8, 1.0, 1.4, 2.0)
    ]
    for before, now in pairwise(found):
        for a, b in zip(before, now, strict=True):
            # other loads may come about, which shifts a date by minutes, not what is told
            assert a.raw_at <= b.raw_at + timedelta(minutes=15)
            assert a.ready_at <= b.ready_at
    assert found[0][0].raw_at < found[-1][0].raw_at


def test_a_later_drop_off_is_never_promised_earlier():
    for queue in ([], a_queue(6), a_queue(3, outside_days=2)):
        for candidate in (one(4), one(1, outside_days=2)):
            found = promised(candidate, *queue, stations=SPREAD)
            assert all(a.raw_at <= b.raw_at for a, b in pairwise(found))
            assert all(a.ready_at <= b.ready_at for a, b in pairwise(found))


def test_a_station_out_of_order_puts_the_promise_off():
    down = ((MONDAY, MONDAY + timedelta(days=1)),)
    broken = with_station(PLAIN, PartStage.BLAST, down=down)
    whole = promised(one())[0]
    late = promised(one(), stations=broken)[0]
    assert whole.raw_at.date() == MONDAY.date()
    assert late.raw_at == after(ONE_PART - 8, MONDAY + timedelta(days=1))


# on an open hour


JOBS = st.lists(
    st.builds(
        lambda parts, stage, back, outside: (parts, stage, back, outside),
        st.integers(1, 6),
        st.sampled_from([PartStage.PREP, PartStage.BLAST, PartStage.CURE, PartStage.DONE]),
        st.integers(0, 2000),
        st.sampled_from([0, 0, 2]),
    ),
    max_size=8,
)


@examples(30)
@given(JOBS, st.integers(1, 8), st.sampled_from([0, 2]), st.integers(0, 10_000))
def test_a_promise_is_a_pickup_hour_of_an_open_day_after_the_drop_off(queue, parts, outside, later):
    shut = a_week(
        closures=[{"from": "2026-06-04", "to": "2026-06-09"}],
        half_days=[{"day": "2026-06-03", "until": "12:00"}],
        pickup={day: ["08:30-12:00"] for day in ("mon", "wed", "thu", "sat")},
    )
    now = MONDAY + timedelta(minutes=later)
    jobs = [
        a_job(n, a_work(outside_days=days), parts=count, stage=stage, comes=after(-back, now))
        for n, (count, stage, back, days) in enumerate(queue, 1)
    ]
    windows = [w for w in shut.windows(now.date(), 15) if w.start > now]
    found = promised(
        one(parts, outside_days=outside),
        *jobs,
        windows=tuple(windows),
        stations=SPREAD,
        week=shut,
        now=now,
    )
    for offer in found:
        told = offer.ready_at
        assert told >= offer.raw_at > offer.window.end
        assert told.strftime("%a") in {"Mon", "Wed", "Thu", "Sat"}
        assert not datetime(2026, 6, 4).date() <= told.date() <= datetime(2026, 6, 9).date()  # noqa: DTZ001  # days alone
        assert told.strftime("%H:%M") in {"08:30", "09:00", "10:00", "11:00"}


def test_a_promise_is_the_same_whatever_the_promises_of_others_say_about_their_order():
    jobs = a_queue(3)
    told = [replace(job, promise_at=MONDAY + timedelta(days=9)) for job in jobs]
    assert promised(one(4), *told) == promised(one(4), *jobs)
