"""The working-time axis: minutes during which a place is open, counted from a day.

The forecast adds and compares minutes on this axis. Nights, weekends and holidays have no length on
it, so a job forgotten over a weekend did not take two days of work.
"""

from bisect import bisect_right
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache

from portal.shop.calendar.hours import Hours
from portal.shop.calendar.week import Week

EPOCH = datetime(2000, 1, 1, tzinfo=UTC)
Downs = tuple[tuple[datetime, datetime], ...]


def _minutes(moment: datetime) -> float:
    return (moment - EPOCH).total_seconds() / 60


@dataclass(frozen=True, slots=True)
class WorkingTime:
    """Open spans in order: start and end (minutes since 2000, UTC), and the open minutes before.

    `total` is the length of the whole axis.
    """

    starts: tuple[float, ...]
    ends: tuple[float, ...]
    before: tuple[float, ...]
    total: float

    def at(self, moment: datetime) -> float:
        """Return the open minutes up to `moment`; a closed moment counts as the next opening."""
        return self.at_minutes(_minutes(moment))

    def at_minutes(self, point: float) -> float:
        """Return the open minutes up to a moment given in minutes since 2000, UTC."""
        n = bisect_right(self.starts, point) - 1
        if n < 0:
            return 0.0
        return self.before[n] + min(point, self.ends[n]) - self.starts[n]

    def moment(self, minutes: float) -> datetime:
        """Return when `minutes` are reached, as aware UTC, rounded up to whole minutes.

        Beyond its end the axis goes on at its mean pace, so that a forecast far beyond it is late
        rather than wrong.
        """
        if minutes > self.total:
            pace = (self.ends[-1] - self.starts[0]) / max(self.total, 1.0)
            return EPOCH + timedelta(minutes=round(self.ends[-1] + (minutes - self.total) * pace))
        # a time that falls on a closing is still reached at that closing
        n = max(0, bisect_right(self.before, minutes - 1e-9) - 1)
        exact = self.starts[n] + max(minutes, 0.0) - self.before[n]
        return EPOCH + timedelta(minutes=-(-exact // 1))


def minutes_a_week(hours: Hours) -> int:
    """Return the open minutes of a usual week."""
    return sum(
        (span.closes.hour - span.opens.hour) * 60 + span.closes.minute - span.opens.minute
        for spans in hours
        for span in spans
    )


def minutes_a_day(hours: Hours) -> float:
    """Return the open minutes of a usual working day."""
    return minutes_a_week(hours) / max(1, sum(bool(spans) for spans in hours))


@lru_cache(maxsize=64)
def working_time(
    week: Week, first_day: date, days: int, hours: Hours | None = None, down: Downs = ()
) -> WorkingTime:
    """Return the working time of `days` days, for the floor or for a station's own hours.

    Spans of `down` are cut out.
    """
    starts: list[float] = []
    ends: list[float] = []
    before: list[float] = []
    total = 0.0
    for offset in range(days):
        day = first_day + timedelta(days=offset)
        for start, end in week.work_hours(day, hours):
            for left, right in _cut(_minutes(start), _minutes(end), down):
                starts.append(left)
                ends.append(right)
                before.append(total)
                total += right - left
    if not starts:
        msg = f"nobody works within {days} days of {first_day}"
        raise ValueError(msg)
    return WorkingTime(tuple(starts), tuple(ends), tuple(before), total)


def minutes_between(week: Week, start: datetime, end: datetime) -> float:
    """Return the minutes in which the floor works from one moment to another; 0 backwards."""
    if end <= start:
        return 0.0
    try:
        line = working_time(week, week.local(start).date(), (end - start).days + 2)
    except ValueError:  # nobody works in that time
        return 0.0
    return line.at(end) - line.at(start)


def _cut(start: float, end: float, down: Downs) -> list[tuple[float, float]]:
    pieces = [(start, end)]
    for first, last in down:
        off, on = _minutes(first), _minutes(last)
        pieces = [
            piece
            for left, right in pieces
            for piece in ((left, min(right, off)), (max(left, on), right))
            if piece[0] < piece[1]
        ]
    return pieces
