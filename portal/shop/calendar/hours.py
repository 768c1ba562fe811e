"""Opening hours parsed and formatted: spans of a day, days of a week, dates of a year."""

import itertools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time
from typing import Any

from portal.craft.messages import CraftError, Message

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_SPAN = re.compile(r"^(\d{1,2}):(\d{2})\s*[-–]\s*(\d{1,2}):(\d{2})$")


@dataclass(frozen=True, slots=True)
class Span:
    """From one local clock time to a later one on the same day."""

    opens: time
    closes: time

    def until(self, cut: time) -> "Span | None":
        """Return what is left of the span when the day ends at `cut`."""
        if cut <= self.opens:
            return None
        return Span(self.opens, min(self.closes, cut))


# seven days, Monday first; each a few spans in order
Hours = tuple[tuple[Span, ...], ...]


def read_clock(text: Any, *, key: str) -> time:
    """Parse `08:00`; raise CraftError with its key otherwise."""
    found = re.match(r"^(\d{1,2}):(\d{2})$", str(text).strip())
    if found is None or int(found[1]) > 23 or int(found[2]) > 59:
        raise CraftError(
            Message("“{text}” is not a time. Write it like 08:00.", text=str(text)), key=key
        )
    return time(int(found[1]), int(found[2]))


def read_span(text: Any, *, key: str) -> Span:
    """Parse `08:00-12:30`; the end must come after the start."""
    found = _SPAN.match(str(text).strip())
    if found is None:
        sentence = Message(
            "“{text}” is not a time span. Write it like 08:00-12:30.", text=str(text)
        )
        raise CraftError(sentence, key=key)
    opens = read_clock(f"{found[1]}:{found[2]}", key=key)
    closes = read_clock(f"{found[3]}:{found[4]}", key=key)
    if closes <= opens:
        raise CraftError(
            Message("“{text}” ends before it starts. Check the times.", text=str(text)), key=key
        )
    return Span(opens, closes)


def read_hours(body: Mapping[str, Any], *, key: str) -> Hours:
    """Parse hours per day (`mon = ["08:00-12:30", "13:00-17:30"]`); a missing day is closed."""
    unknown = sorted(set(body) - set(DAYS))
    if unknown:
        sentence = Message(
            "“{text}” is not a day. Write mon, tue, wed, thu, fri, sat or sun.", text=unknown[0]
        )
        raise CraftError(sentence, key=f"{key}.{unknown[0]}")
    week: list[tuple[Span, ...]] = []
    for day in DAYS:
        at = f"{key}.{day}"
        spans = tuple(read_span(text, key=at) for text in body.get(day, ()))
        for before, after in itertools.pairwise(spans):
            if after.opens < before.closes:
                raise CraftError(Message("These times overlap or are in the wrong order."), key=at)
        week.append(spans)
    return tuple(week)


def write_hours(hours: Hours) -> dict[str, list[str]]:
    """Format hours in the shape that `read_hours` parses."""
    return {
        name: [f"{span.opens:%H:%M}-{span.closes:%H:%M}" for span in spans]
        for name, spans in zip(DAYS, hours, strict=True)
        if spans
    }


def read_days(names: Any, *, key: str) -> tuple[int, ...]:
    """Parse names of days as weekday numbers, Monday being 0."""
    for name in names:
        if name not in DAYS:
            sentence = Message(
                "“{text}” is not a day. Write mon, tue, wed, thu, fri, sat or sun.", text=str(name)
            )
            raise CraftError(sentence, key=key)
    return tuple(sorted(DAYS.index(name) for name in names))


@dataclass(frozen=True, slots=True)
class DayOfYear:
    """A date of one year, or of every year when `year` is None."""

    month: int
    day: int
    year: int | None = None

    def inside(self, year: int) -> date | None:
        """Return the date in `year`, or None where it does not exist there."""
        if self.year not in (None, year):
            return None
        try:
            return date(year, self.month, self.day)
        except ValueError:
            return None


def read_day(text: Any, *, key: str) -> DayOfYear:
    """Parse `2026-12-24`, or `12-24` for every year."""
    found = re.match(r"^(?:(\d{4})-)?(\d{2})-(\d{2})$", str(text).strip())
    sentence = Message(
        "“{text}” is not a date. Write it like 2026-12-24, or 12-24 for every year.", text=str(text)
    )
    if found is None:
        raise CraftError(sentence, key=key)
    year = int(found[1]) if found[1] else None
    day = DayOfYear(int(found[2]), int(found[3]), year)
    # 2024 has a 29th of February: a yearly date must exist in some year
    if day.inside(year or 2024) is None:
        raise CraftError(sentence, key=key)
    return day


def write_day(day: DayOfYear) -> str:
    """Format a date in the shape that `read_day` parses."""
    short = f"{day.month:02d}-{day.day:02d}"
    return short if day.year is None else f"{day.year:04d}-{short}"
