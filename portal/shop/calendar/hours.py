"""Opening hours parsed and formatted: spans of a day, days of a week, dates of a year."""

import itertools
import operator
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, time
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field, PlainSerializer

from portal.craft.messages import CraftError, Message
from portal.craft.schema import Label, Table, listed

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_SPAN = re.compile(r"^(\d{1,2}:\d{2})\s*[-–]\s*(\d{1,2}:\d{2})$")


@dataclass(frozen=True, slots=True)
class ClockSpan:
    """From one local clock time to a later one on the same day."""

    opens: time
    closes: time

    def __str__(self) -> str:
        """Write it as it is read."""
        return f"{self.opens:%H:%M}-{self.closes:%H:%M}"

    def until(self, cut: time) -> "ClockSpan | None":
        """Return what is left of the span when the day ends at `cut`."""
        if cut <= self.opens:
            return None
        return ClockSpan(self.opens, min(self.closes, cut))


@dataclass(frozen=True, slots=True)
class DayOfYear:
    """A date of one year, or of every year when `year` is None."""

    month: int
    day: int
    year: int | None = None

    def __str__(self) -> str:
        """Write it as it is read."""
        short = f"{self.month:02d}-{self.day:02d}"
        return short if self.year is None else f"{self.year:04d}-{short}"

    def inside(self, year: int) -> date | None:
        """Return the date in `year`, or None where it does not exist there."""
        if self.year not in (None, year):
            return None
        try:
            return date(year, self.month, self.day)
        except ValueError:
            return None


def _clock(text: Any) -> time:
    """Read `08:00`."""
    found = re.match(r"^(\d{1,2}):(\d{2})$", str(text).strip())
    if found is None or int(found[1]) > 23 or int(found[2]) > 59:
        raise CraftError(Message("“{text}” is not a time. Write it like 08:00.", text=str(text)))
    return time(int(found[1]), int(found[2]))


def _span(text: Any) -> ClockSpan:
    """Read `08:00-12:30`; the end must come after the start."""
    found = _SPAN.match(str(text).strip())
    if found is None:
        raise CraftError(
            Message("“{text}” is not a time span. Write it like 08:00-12:30.", text=str(text))
        )
    opens, closes = _clock(found[1]), _clock(found[2])
    if closes <= opens:
        raise CraftError(
            Message("“{text}” ends before it starts. Check the times.", text=str(text))
        )
    return ClockSpan(opens, closes)


def _spans(value: Any) -> tuple[ClockSpan, ...]:
    spans = tuple(_span(text) for text in listed(value))
    for before, after in itertools.pairwise(spans):
        if after.opens < before.closes:
            raise CraftError(Message("These times overlap or are in the wrong order."))
    return spans


def _day(text: Any) -> DayOfYear:
    """Read `2026-12-24`, or `12-24` for every year."""
    found = re.match(r"^(?:(\d{4})-)?(\d{2})-(\d{2})$", str(text).strip())
    if found:
        day = DayOfYear(int(found[2]), int(found[3]), int(found[1]) if found[1] else None)
        # 2024 has a 29th of February: a yearly date must exist in some year
        if day.inside(day.year or 2024) is not None:
            return day
    sentence = "“{text}” is not a date. Write it like 2026-12-24, or 12-24 for every year."
    raise CraftError(Message(sentence, text=str(text)))


def _weekdays(value: Any) -> tuple[int, ...]:
    """Read names of days as weekday numbers, Monday being 0."""
    names = listed(value)
    for name in names:
        if name not in DAYS:
            sentence = "“{text}” is not a day. Write mon, tue, wed, thu, fri, sat or sun."
            raise CraftError(Message(sentence, text=str(name)))
    return tuple(sorted(DAYS.index(name) for name in names))


def _texts(values: tuple[Any, ...]) -> list[str]:
    return [str(one) for one in values]


Clock = Annotated[time, BeforeValidator(_clock), PlainSerializer(lambda at: f"{at:%H:%M}")]
OneDay = Annotated[DayOfYear, BeforeValidator(_day), PlainSerializer(str)]
SomeDays = Annotated[
    tuple[DayOfYear, ...],
    BeforeValidator(lambda value: tuple(_day(text) for text in listed(value))),
    PlainSerializer(_texts),
]
Weekdays = Annotated[
    tuple[int, ...],
    BeforeValidator(_weekdays),
    PlainSerializer(lambda days: [DAYS[day] for day in days]),
]
Spans = Annotated[
    tuple[ClockSpan, ...],
    BeforeValidator(_spans),
    PlainSerializer(_texts),
    Field(exclude_if=operator.not_),
]


@dataclass(frozen=True, slots=True)
class Hours(Table):
    """The hours of a week, a few spans a day; a day left out is closed."""

    mon: Annotated[Spans, Label(Message("Monday"))] = ()
    tue: Annotated[Spans, Label(Message("Tuesday"))] = ()
    wed: Annotated[Spans, Label(Message("Wednesday"))] = ()
    thu: Annotated[Spans, Label(Message("Thursday"))] = ()
    fri: Annotated[Spans, Label(Message("Friday"))] = ()
    sat: Annotated[Spans, Label(Message("Saturday"))] = ()
    sun: Annotated[Spans, Label(Message("Sunday"))] = ()

    def __getitem__(self, weekday: int) -> tuple[ClockSpan, ...]:
        """Return the spans of a weekday, Monday being 0."""
        spans: tuple[ClockSpan, ...] = getattr(self, DAYS[weekday])
        return spans

    def __iter__(self) -> Iterator[tuple[ClockSpan, ...]]:
        """Yield the spans of each day, Monday first."""
        return (self[weekday] for weekday in range(len(DAYS)))


def _some(hours: Hours | None) -> Hours | None:
    if hours is not None and not any(hours):
        raise CraftError(Message("Enter opening hours for at least one day."))
    return hours


OpenHours = Annotated[Hours, AfterValidator(_some)]
