"""The shop's days: open or shut, the n-th working day, drop-off windows, pickup hours, strip runs.

Working days are compared with numpy's own counting (`busday_count`, `busday_offset`, `is_busday`)
over many years; everything else with cases counted by hand on a calendar.
"""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import holidays
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.shop.calendar.hours import DAYS, DayOfYear
from portal.shop.calendar.week import Closure, Week, read_week
from tests.deep import examples
from tests.readers import english

NINE_TO_FIVE = ["09:00-12:30", "13:00-17:00"]
WEEKDAYS = DAYS[:5]
BODY: dict[str, Any] = {
    "zone": "Europe/London",
    "country": "GB",
    "subdivision": "ENG",
    "work": dict.fromkeys(WEEKDAYS, NINE_TO_FIVE),
    "pickup": {**{key: ["09:00-17:00"] for key in WEEKDAYS}, "sat": ["09:30-12:00"]},
    "drop_off": {**{key: ["09:00-10:00"] for key in WEEKDAYS}, "minutes": 30, "places": 3},
    "closures": [{"from": "12-27", "to": "01-02", "why": "Between the years"}],
    "half_days": [{"day": "12-24", "until": "12:00"}],
    "strip_runs": {"days": ["tue", "fri"], "cut_off": "10:00", "back_after_days": 2},
}
# published bank holidays of England and Wales (gov.uk/bank-holidays), from memory
BANK_HOLIDAYS = {
    2024: "01-01 03-29 04-01 05-06 05-27 08-26 12-25 12-26",
    2025: "01-01 04-18 04-21 05-05 05-26 08-25 12-25 12-26",
    2026: "01-01 04-03 04-06 05-04 05-25 08-31 12-25 12-28",
}
SOME_DAY = st.dates(date(2019, 1, 1), date(2033, 12, 31))
YEARLY = [f"{month:02d}-{day:02d}" for month in range(1, 13) for day in range(1, 31) if day < 29]


def week(**over: Any) -> Week:
    return read_week({**BODY, **over})


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)


def spelt_out(body: dict[str, Any], first_year: int, last_year: int) -> set[date]:
    """Every day that holidays and closures take away, written out by an independent loop."""
    gone: set[date] = set()
    if body["country"]:
        years = range(first_year, last_year + 1)
        gone |= set(
            holidays.country_holidays(
                body["country"], subdiv=body["subdivision"] or None, years=years
            )
        )
    for kept in body.get("open_holidays", ()):
        gone = {day for day in gone if kept not in (f"{day:%m-%d}", f"{day:%Y-%m-%d}")}
    for closure in body["closures"]:
        gone |= _days_of(closure["from"], closure["to"], first_year, last_year)
    return gone


def _days_of(first: str, last: str, first_year: int, last_year: int) -> set[date]:
    if len(first) > 5:
        start, end = date.fromisoformat(first), date.fromisoformat(last)
        return {start + timedelta(days=n) for n in range((end - start).days + 1)}
    found = set()
    for year in range(first_year - 1, last_year + 1):
        start = date.fromisoformat(f"{year}-{first}")
        end = date.fromisoformat(f"{year if first <= last else year + 1}-{last}")
        found |= {start + timedelta(days=n) for n in range((end - start).days + 1)}
    return found


@st.composite
def bodies(draw: st.DrawFn) -> dict[str, Any]:
    """A week with some days, a place, closures of one year and of every year."""
    country, subdivision = draw(st.sampled_from([("GB", "ENG"), ("DE", "BY"), ("US", "")]))
    closures = [
        {"from": draw(st.sampled_from(YEARLY)), "to": draw(st.sampled_from(YEARLY))}
        for _ in range(draw(st.integers(0, 2)))
    ]
    for start in draw(st.lists(SOME_DAY, max_size=3)):
        end = start + timedelta(days=draw(st.integers(0, 20)))
        closures.append({"from": start.isoformat(), "to": end.isoformat()})
    # a shop that never opens is another test
    shut = [
        one
        for one in closures
        if len(one["from"]) > 5 or len(_days_of(one["from"], one["to"], 2024, 2024)) < 300
    ]
    days = draw(st.sets(st.sampled_from(DAYS), min_size=1))
    return {
        **BODY,
        "country": country,
        "subdivision": subdivision,
        "work": dict.fromkeys(days, NINE_TO_FIVE),
        "closures": shut,
        "open_holidays": draw(st.lists(st.sampled_from(["12-26", "01-01", "05-01"]), max_size=2)),
    }


def busdays(body: dict[str, Any]) -> np.busdaycalendar:
    gone = sorted(spelt_out(body, 2016, 2038))
    mask = [day in body["work"] for day in DAYS]
    return np.busdaycalendar(weekmask=mask, holidays=np.array(gone, dtype="datetime64[D]"))


@given(bodies(), SOME_DAY, st.integers(0, 40))
def test_working_days_are_numpys_business_days(body, day, ahead):
    shop, calendar = read_week(body), busdays(body)
    assert shop.is_working_day(day) == bool(np.is_busday(day, busdaycal=calendar))
    roll = "backward" if ahead else "forward"
    expected = np.busday_offset(day, ahead, roll=roll, busdaycal=calendar)
    assert shop.working_days_after(day, ahead) == expected.astype(date)


@examples(25)
@given(bodies(), SOME_DAY, st.integers(0, 420))
def test_as_many_working_days_are_counted_as_numpy_counts(body, first, days):
    shop = read_week(body)
    ours = sum(shop.is_working_day(first + timedelta(days=n)) for n in range(days))
    last = first + timedelta(days=days)
    assert ours == np.busday_count(first, last, busdaycal=busdays(body))


@pytest.mark.parametrize("year", BANK_HOLIDAYS)
def test_the_bank_holidays_of_england_are_not_worked(year):
    shop = week(closures=[], work=dict.fromkeys(DAYS, NINE_TO_FIVE))
    days = [date(year, 1, 1) + timedelta(days=n) for n in range(366)]
    shut = {day for day in days if day.year == year and shop.shut_because(day)}
    published = {date.fromisoformat(f"{year}-{text}") for text in BANK_HOLIDAYS[year].split()}
    # Boxing Day on a Saturday is a holiday by its name, and its substitute on the Monday
    weekend = {day for day in shut if day.weekday() > 4}
    assert shut - weekend == published


def test_a_holiday_that_the_shop_works_is_an_open_day():
    may_day = date(2026, 5, 4)
    assert not week().is_open(may_day)
    assert week(open_holidays=["2026-05-04"]).is_working_day(may_day)
    assert not week(open_holidays=["2027-05-03"]).is_working_day(may_day)


def test_a_holiday_says_its_name_and_a_closure_its_reason():
    assert english(week().shut_because(date(2026, 12, 25))) == "Christmas Day"
    assert english(week().shut_because(date(2026, 12, 29))) == "Between the years"
    closed = week(closures=[{"from": "2026-07-01"}])
    assert english(closed.shut_because(date(2026, 7, 1))) == "Closed"
    assert week().shut_because(date(2026, 6, 2)) is None


def test_a_yearly_closure_runs_across_every_new_year():
    shop = week(country="GB", closures=[{"from": "12-28", "to": "01-05"}])
    for year in range(2024, 2031):
        assert shop.shut_because(date(year, 12, 28)) is not None
        assert shop.shut_because(date(year, 1, 5)) is not None
        assert shop.shut_because(date(year, 1, 6)) is None
        assert shop.shut_because(date(year, 6, 28)) is None


def test_a_dated_closure_is_of_its_own_year_alone_and_may_cross_new_year():
    shop = week(closures=[{"from": "2026-12-29", "to": "2027-01-08"}])
    assert not shop.is_open(date(2026, 12, 29))
    assert not shop.is_open(date(2027, 1, 8))
    assert shop.is_open(date(2027, 1, 11))
    assert shop.is_open(date(2025, 12, 29))
    assert shop.is_open(date(2028, 1, 5))


@pytest.mark.parametrize(
    ("first", "last", "shut", "still_open"),
    [
        ("02-23", "02-29", date(2027, 2, 23), date(2027, 3, 1)),  # 2027 has no 29th of February
        ("02-29", "03-03", date(2027, 3, 3), date(2027, 2, 26)),
        ("02-29", "03-03", date(2028, 2, 29), date(2028, 2, 28)),
    ],
)
def test_a_yearly_closure_up_to_the_leap_day_holds_in_every_year(first, last, shut, still_open):
    shop = week(closures=[{"from": first, "to": last}], work=dict.fromkeys(DAYS, NINE_TO_FIVE))
    assert shop.shut_because(shut) is not None
    assert shop.shut_because(still_open) is None


def test_a_closure_added_later_shuts_the_day():
    day = date(2026, 6, 10)
    closure = Closure(DayOfYear(6, 10, 2026), DayOfYear(6, 11, 2026))
    shut = replace(week(), closures=(*week().closures, closure))
    assert week().is_open(day)
    assert not shut.is_open(day)
    assert not shut.windows(day, 2)
    assert shut.pickup_after(utc("2026-06-10T08:00:00Z")) == utc("2026-06-12T08:00:00Z")


def test_a_half_day_ends_work_and_pickup_and_leaves_the_morning():
    shop = week()
    eve = date(2026, 12, 24)  # a Thursday; winter time is UTC
    assert shop.work_hours(eve) == ((utc("2026-12-24T09:00Z"), utc("2026-12-24T12:00Z")),)
    assert shop.pickup_hours(eve) == ((utc("2026-12-24T09:00Z"), utc("2026-12-24T12:00Z")),)
    assert shop.pickup_hours(date(2026, 12, 23))[-1][1] == utc("2026-12-23T17:00Z")


def test_a_half_day_that_ends_before_the_opening_is_a_closed_day():
    shop = week(half_days=[{"day": "2026-06-03", "until": "09:00"}])
    assert not shop.is_open(date(2026, 6, 3))
    assert shop.working_days_after(date(2026, 6, 2), 1) == date(2026, 6, 4)


def test_the_leap_day_is_worked_when_its_weekday_is():
    assert week().is_working_day(date(2028, 2, 29))  # a Tuesday
    assert week().working_days_after(date(2028, 2, 28), 1) == date(2028, 2, 29)
    assert week().working_days_after(date(2027, 2, 26), 1) == date(2027, 3, 1)


def test_across_a_year_end_the_next_working_day_skips_closures_and_holidays():
    # Thu 24 is half, Fri 25 Christmas, 26 and 27 the weekend, 27.12. to 2.1. closed, 3.1. Sunday
    assert week().working_days_after(date(2026, 12, 24), 1) == date(2027, 1, 4)


def test_a_shop_that_never_opens_is_an_error_and_no_endless_search():
    shop = week(closures=[{"from": "01-01", "to": "12-31"}])
    with pytest.raises(ValueError, match="no open day"):
        shop.pickup_after(utc("2026-06-01T08:00Z"))


def test_drop_off_windows_fill_the_hours_and_carry_their_places():
    found = week().windows(date(2026, 6, 5), 4)  # Friday to Monday, summer time
    starts = [one.start for one in found]
    assert starts == [
        utc("2026-06-05T09:00+01:00"),
        utc("2026-06-05T09:30+01:00"),
        utc("2026-06-08T09:00+01:00"),
        utc("2026-06-08T09:30+01:00"),
    ]
    assert all(one.end - one.start == timedelta(minutes=30) for one in found)
    assert {one.places for one in found} == {3}


def test_what_is_left_of_the_hours_after_the_last_whole_window_is_no_window():
    drop_off = {"mon": ["09:00-10:00"], "minutes": 45}
    found = week(drop_off=drop_off).windows(date(2026, 6, 1), 1)
    assert [(one.start, one.end) for one in found] == [
        (utc("2026-06-01T09:00+01:00"), utc("2026-06-01T09:45+01:00"))
    ]


@given(bodies(), SOME_DAY)
def test_every_drop_off_window_lies_inside_the_hours_of_an_open_day(body, first):
    shop = read_week(body)
    for one in shop.windows(first, 14):
        start, end = shop.local(one.start), shop.local(one.end)
        assert shop.shut_because(start.date()) is None
        assert time(9) <= start.time() < end.time() <= time(10)


@given(bodies(), st.datetimes(datetime(2019, 1, 1), datetime(2033, 1, 1), timezones=st.just(UTC)))  # noqa: DTZ001  # hypothesis adds UTC
def test_a_pickup_is_the_first_allowed_half_hour_of_a_search_step_by_step(body, asked):
    shop = read_week(body)
    gone = spelt_out(body, asked.year - 1, asked.year + 3)
    # openings and full hours lie on half hours, in UTC too
    at = asked.replace(minute=0, second=0, microsecond=0)
    while at < asked or not _may_collect(body, shop.local(at), gone):
        at += timedelta(minutes=30)
    assert shop.pickup_after(asked) == at


def _may_collect(body: dict[str, Any], local: datetime, gone: set[date]) -> bool:
    clock = f"{local:%H:%M}"
    if local.date() in gone or (f"{local:%m-%d}" == "12-24" and clock >= "12:00"):
        return False
    spans = [text.split("-") for text in body["pickup"].get(DAYS[local.weekday()], [])]
    opening = clock in {start for start, _ in spans}
    return (opening or local.minute == 0) and any(start <= clock < end for start, end in spans)


def test_pickup_hours_are_the_opening_and_then_full_hours():
    shop = week()
    cases = {
        "2026-06-01T08:59+01:00": "2026-06-01T09:00+01:00",
        "2026-06-01T09:00+01:00": "2026-06-01T09:00+01:00",
        "2026-06-01T09:01+01:00": "2026-06-01T10:00+01:00",
        "2026-06-01T16:00+01:00": "2026-06-01T16:00+01:00",
        "2026-06-01T16:01+01:00": "2026-06-02T09:00+01:00",  # closing time is no pickup hour
        "2026-06-05T16:30+01:00": "2026-06-06T09:30+01:00",  # Saturday opens at half past nine
        "2026-06-06T09:31+01:00": "2026-06-06T10:00+01:00",
        "2026-06-06T11:01+01:00": "2026-06-08T09:00+01:00",
        "2026-12-24T11:30+00:00": "2027-01-04T09:00+00:00",  # half day, holidays, closure
    }
    for asked, expected in cases.items():
        assert shop.pickup_after(utc(asked)) == utc(expected), asked


def test_a_part_ready_at_the_cut_off_still_leaves_and_a_minute_later_it_does_not():
    shop = week()
    caught = shop.strip_run_after(utc("2026-06-02T10:00+01:00"))  # a Tuesday
    missed = shop.strip_run_after(utc("2026-06-02T10:01+01:00"))
    assert caught is not None
    assert missed is not None
    assert (caught.leaves_on, caught.back_on) == (date(2026, 6, 2), date(2026, 6, 4))
    assert (missed.leaves_on, missed.back_on) == (date(2026, 6, 5), date(2026, 6, 9))
    assert caught.back_at == utc("2026-06-04T15:00+01:00")


def test_a_strip_run_on_a_closed_day_does_not_leave_and_returns_count_working_days():
    shop = week()
    # Fri 3 April is Good Friday; Mon 6 Easter Monday: the next run is Tue 7, back on Thu 9
    run = shop.strip_run_after(utc("2026-04-03T09:00+01:00"))
    assert run is not None
    assert (run.leaves_on, run.back_on) == (date(2026, 4, 7), date(2026, 4, 9))
    # Tue 31 March leaves, and two working days later is the Thursday before Easter
    before = shop.strip_run_after(utc("2026-03-31T09:00+01:00"))
    assert before is not None
    assert before.back_on == date(2026, 4, 2)


def test_a_shop_without_strip_days_has_no_runs():
    shop = week(strip_runs={})
    assert not list(shop.runs(date(2026, 6, 1), 60))
    assert shop.strip_run_after(utc("2026-06-01T08:00Z")) is None
