"""The axis of working minutes, by hand: two days of two spans each."""

from datetime import UTC, date, datetime, timedelta

import pytest

from portal.shop.calendar.hours import DAYS
from portal.shop.calendar.week import Week, read_week
from portal.shop.calendar.working_minutes import WorkingTime, working_time

MONDAY = date(2026, 6, 1)
SHUT = {"mon": [], "tue": []}


def week(hours: list[str], **over: list[str]) -> Week:
    daily = {**dict.fromkeys(DAYS, hours), **over}
    body = {"zone": "UTC", "country": "", "work": daily, "pickup": daily, "drop_off": daily}
    return read_week(body)


TWO = week(["08:00-12:00", "13:00-17:00"])


def at(day: int, hour: int, minute: int = 0, second: int = 0) -> datetime:
    return datetime(2026, 6, day, hour, minute, second, tzinfo=UTC)


@pytest.mark.parametrize(
    ("moment", "minutes"),
    [
        (at(1, 0), 0),
        (at(1, 8), 0),
        (at(1, 8, 0, 30), 0.5),
        (at(1, 12), 240),
        (at(1, 12, 59), 240),
        (at(1, 13), 240),
        (at(1, 14), 300),
        (at(1, 17), 480),
        (at(2, 7), 480),
        (at(2, 9), 540),
        (at(2, 23), 960),
    ],
)
def test_the_open_minutes_up_to_a_moment(moment: datetime, minutes: float) -> None:
    assert working_time(TWO, MONDAY, 2).at(moment) == minutes


def test_beyond_its_end_an_axis_goes_on_at_its_own_pace_however_short_it_is() -> None:
    axis = WorkingTime(starts=(0.0,), ends=(1.5,), before=(0.0,), total=1.5)
    assert axis.moment(9.5) - axis.moment(0) == timedelta(minutes=10)  # 9.5, to the even minute


@pytest.mark.parametrize(
    ("minutes", "moment"),
    [
        (-5, at(1, 8)),
        (0, at(1, 8)),
        (0.2, at(1, 8, 1)),  # up to the next whole minute
        (1, at(1, 8, 1)),
        (240, at(1, 12)),  # what falls on a closing is reached there
        (240.5, at(1, 13, 1)),
        (480, at(1, 17)),
        (481, at(2, 8, 1)),
        (960, at(2, 17)),
        # beyond the axis at its mean pace: 33 hours for 960 minutes
        (1920, at(2, 17) + timedelta(hours=33)),
    ],
)
def test_when_so_many_minutes_are_reached(minutes: float, moment: datetime) -> None:
    assert working_time(TWO, MONDAY, 2).moment(minutes) == moment


def test_the_spans_of_the_axis() -> None:
    found = working_time(TWO, MONDAY, 2)
    assert found.total == 960
    assert found.before == (0, 240, 480, 720)
    assert [end - start for start, end in zip(found.starts, found.ends, strict=True)] == [240] * 4


@pytest.mark.parametrize(
    ("down", "total", "spans"),
    [
        (((at(1, 9), at(1, 10)),), 420, 3),  # in the middle of a span
        (((at(1, 8), at(1, 9)),), 420, 2),  # at its beginning
        (((at(1, 11), at(1, 14)),), 360, 2),  # over the break
        (((at(1, 12), at(1, 13)),), 480, 2),  # in the break
        (((at(1, 8), at(1, 12)),), 240, 1),
        (((at(1, 9), at(1, 10)), (at(1, 11), at(1, 12))), 360, 3),
    ],
)
def test_what_is_down_is_cut_out(down, total: float, spans: int) -> None:
    found = working_time(TWO, MONDAY, 1, down=down)
    assert (found.total, len(found.starts)) == (total, spans)


def test_a_week_without_work_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^nobody works within 2 days of 2026-06-01$"):
        working_time(week(["08:00-12:00"], **SHUT), MONDAY, 2)
