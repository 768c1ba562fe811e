"""The shop's hours on days when the clocks change, by hand.

Dates of change: last Sunday of March and of October, 01:00 UTC (Directive 2000/84/EC, articles 2
and 3, which Great Britain keeps too: Summer Time Order 2002); in New York the second Sunday of
March and the first of November, 02:00 local (Energy Policy Act of 2005). From memory.
"""

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.shop.calendar.hours import DAYS
from portal.shop.calendar.week import Week, read_week

SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)  # London
DAY = ["09:00-17:00"]
NIGHT = ["00:00-06:00"]


def week(hours: list[str], zone: str = "Europe/London", **more: Any) -> Week:
    daily = dict.fromkeys(DAYS, hours)
    body = {"zone": zone, "country": "", "work": daily, "pickup": daily, "drop_off": daily, **more}
    return read_week(body)


def length(shop: Week, day: date) -> timedelta:
    return sum((end - start for start, end in shop.work_hours(day)), timedelta())


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)


@pytest.mark.parametrize(("day", "hours"), [(SPRING, 5), (AUTUMN, 7), (date(2026, 6, 7), 6)])
def test_a_night_shift_loses_an_hour_in_spring_and_gains_one_in_autumn(day, hours):
    assert length(week(NIGHT), day) == timedelta(hours=hours)


@pytest.mark.parametrize("day", [SPRING, AUTUMN])
def test_a_working_day_after_the_change_is_as_long_as_any(day):
    assert length(week(DAY), day) == timedelta(hours=8)


def test_the_same_opening_hour_is_another_moment_after_the_change():
    shop = week(DAY)
    assert shop.pickup_hours(date(2026, 3, 28))[0][0] == utc("2026-03-28T09:00Z")
    assert shop.pickup_hours(SPRING)[0][0] == utc("2026-03-29T08:00Z")
    assert shop.pickup_hours(date(2026, 10, 24))[0][0] == utc("2026-10-24T08:00Z")
    assert shop.pickup_hours(AUTUMN)[0][0] == utc("2026-10-25T09:00Z")


def test_half_past_one_occurs_twice_in_autumn_and_the_first_is_meant():
    shop = week(NIGHT)
    first = shop.moment(AUTUMN, time(1, 30))
    assert first == utc("2026-10-25T00:30Z")
    second = first + timedelta(hours=1)
    assert shop.local(first).time() == shop.local(second).time() == time(1, 30)
    assert (shop.local(first).fold, shop.local(second).fold) == (0, 1)


def test_half_past_one_is_skipped_in_spring_and_means_the_same_span_after_midnight():
    skipped = week(NIGHT).moment(SPRING, time(1, 30))
    assert skipped == utc("2026-03-29T01:30Z")
    assert week(NIGHT).local(skipped).time() == time(2, 30)


def test_pickup_hours_of_the_long_night_name_the_doubled_hour_twice():
    shop = week(NIGHT)
    at, found = shop.moment(AUTUMN, time(0)), []
    for _ in range(7):
        at = shop.pickup_after(at)
        found.append(f"{shop.local(at):%H:%M}")
        at += timedelta(minutes=1)
    assert found == ["00:00", "01:00", "01:00", "02:00", "03:00", "04:00", "05:00"]


def test_pickup_hours_of_the_short_night_leave_the_skipped_hour_out():
    shop = week(NIGHT)
    at, found = shop.moment(SPRING, time(0)), []
    for _ in range(5):
        at = shop.pickup_after(at)
        found.append(f"{shop.local(at):%H:%M}")
        at += timedelta(minutes=1)
    assert found == ["00:00", "02:00", "03:00", "04:00", "05:00"]


def test_drop_off_windows_across_the_change_all_have_the_same_real_length():
    for day, count in ((SPRING, 10), (AUTUMN, 14), (date(2026, 6, 7), 12)):
        found = week(NIGHT).windows(day, 1)
        assert len(found) == count
        assert {one.end - one.start for one in found} == {timedelta(minutes=30)}
        assert len({one.start for one in found}) == count


def test_a_strip_run_across_the_change_comes_back_at_the_same_local_hour():
    runs = {"days": ["sat"], "cut_off": "10:00", "back_after_days": 2, "back_at": "15:00"}
    run = week(DAY, strip_runs=runs).strip_run_after(utc("2026-03-28T09:00Z"))
    assert run is not None
    assert (run.cut_off_at, run.back_at) == (utc("2026-03-28T10:00Z"), utc("2026-03-30T14:00Z"))


def test_the_clocks_of_another_zone_change_on_its_own_days():
    shop = week(NIGHT, "America/New_York")
    assert length(shop, date(2026, 3, 8)) == timedelta(hours=5)
    assert length(shop, date(2026, 11, 1)) == timedelta(hours=7)
    assert length(shop, SPRING) == timedelta(hours=6)


def test_a_zone_that_is_half_an_hour_off_keeps_its_own_full_hours():
    shop = week(DAY, "Asia/Kolkata")
    found = shop.pickup_after(utc("2026-06-01T10:05+05:30"))
    assert found == utc("2026-06-01T11:00+05:30")


@given(
    st.dates(date(2020, 1, 1), date(2033, 12, 31)),
    st.sampled_from(["Europe/London", "America/New_York", "Australia/Sydney", "Asia/Kolkata"]),
)
def test_a_working_day_by_daylight_has_its_length_on_every_day_of_the_year(day, zone):
    shop = week(DAY, zone)
    assert length(shop, day) == timedelta(hours=8)
    opens = shop.work_hours(day)[0][0]
    assert shop.local(opens).replace(tzinfo=None) == datetime.combine(day, time(9))


@pytest.mark.parametrize(
    ("moment", "later"),
    [
        ("2026-06-04T10:15+01:00", "2026-06-05T10:15+01:00"),
        ("2026-06-05T16:30+01:00", "2026-06-08T16:30+01:00"),  # over a weekend
        ("2026-03-27T10:15+00:00", "2026-03-30T10:15+01:00"),  # and over the change
    ],
)
def test_a_working_day_later_it_is_the_same_time_of_day(moment, later):
    daily = dict.fromkeys(DAYS[:5], DAY)
    shop = week(DAY, work=daily)
    assert shop.working_day_later(utc(moment)) == utc(later)
