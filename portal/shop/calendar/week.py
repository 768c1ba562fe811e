"""The shop's week: when it works, receives parts, hands them back, and sends strip runs out.

`Week` is the document `week` of shop.toml, edited in the office.

Local clock times are turned into aware UTC moments here and nowhere else below the pages.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import Annotated, Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator, BeforeValidator, Field

from portal.craft import reading
from portal.craft.messages import CraftError, Message
from portal.craft.schema import Label, Plain, Table, whole
from portal.shop.calendar.hours import (
    Clock,
    ClockSpan,
    Hours,
    OneDay,
    OpenHours,
    SomeDays,
    Weekdays,
)

FURTHEST_DAYS = 800  # no shop is closed longer; beyond it the week itself is wrong


@dataclass(frozen=True, slots=True)
class Window:
    """A drop-off window, aware UTC, with how many customers it takes."""

    start: datetime
    end: datetime
    places: int


@dataclass(frozen=True, slots=True)
class Closure(Table):
    """Days on which the shop is shut, both ends included, and what to tell people."""

    first: Annotated[OneDay, Field(alias="from"), Label(Message("From"))]
    last: Annotated[OneDay, Field(alias="to"), Label(Message("To"))]
    why: Annotated[Plain, Label(Message("What customers are told"))] = ""

    def covers(self, day: date) -> bool:
        """Return whether `day` lies inside; a yearly closure may run across New Year."""
        if self.first.year is not None and self.last.year is not None:
            whole = (self.first.year, self.first.month, self.first.day)
            end = (self.last.year, self.last.month, self.last.day)
            return whole <= (day.year, day.month, day.day) <= end
        # by month and day: an end on the 29th of February holds in every year
        first, last = (self.first.month, self.first.day), (self.last.month, self.last.day)
        at = (day.month, day.day)
        return first <= at <= last if first <= last else at >= first or at <= last


@dataclass(frozen=True, slots=True)
class HalfDay(Table):
    """A day that ends early for everybody."""

    day: Annotated[OneDay, Label(Message("Day"))]
    until: Annotated[Clock, Label(Message("Until"))]


@dataclass(frozen=True, slots=True)
class StripDays(Table):
    """When strip runs leave and come back.

    A part that is ready by `cut_off` (local) on one of `days` leaves that day and is back at
    `back_at` on the `back_after_days`-th working day after it.
    """

    days: Annotated[Weekdays, Label(Message("Leaves on"))] = ()
    cut_off: Annotated[Clock, Label(Message("Ready by"))] = time(10, 0)
    back_after_days: Annotated[int, whole(1, 30), Label(Message("Back after (working days)"))] = 2
    back_at: Annotated[Clock, Label(Message("Back at"))] = time(15, 0)


@dataclass(frozen=True, slots=True)
class DropOff(Hours):
    """When parts are taken in: windows of `minutes`, each for `places` customers.

    `least_stay_days` and `longest_stay_days` are working days.
    """

    minutes: Annotated[int, whole(5, 240), Label(Message("Length of a time slot, minutes"))] = 30
    places: Annotated[int, whole(1, 99), Label(Message("Customers per time slot"))] = 2
    least_stay_days: Annotated[
        int, whole(0, 30), Label(Message("Parts stay at least (working days)"))
    ] = 0
    longest_stay_days: Annotated[
        int, whole(1, 200), Label(Message("Parts may stay at most (working days)"))
    ] = 15


@dataclass(frozen=True, slots=True)
class Run:
    """One strip run by the calendar: dates are local, moments aware UTC."""

    leaves_on: date
    cut_off_at: datetime
    back_on: date
    back_at: datetime


# a year of which every calendar knows the holidays
ANY_YEAR = 2026


@lru_cache(maxsize=64)
def public_holidays(country: str, subdivision: str, year: int) -> Mapping[date, str]:
    """Return the public holidays of one year with their names; none without a country."""
    if not country:
        return {}
    import holidays  # noqa: PLC0415  # 40 ms that a page without dates need not pay

    found = holidays.country_holidays(country, subdiv=subdivision or None, years=year)
    return {day: str(name) for day, name in found.items()}


def _zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        sentence = Message("“{text}” is not a time zone. Write it like Europe/London.", text=name)
        raise CraftError(sentence) from None
    return name


def _with_end(body: Any) -> Any:
    """Return a closure with its end: without one it is of one day."""
    if isinstance(body, Mapping) and "from" in body:
        return {"to": body["from"], **body}
    return body


def _in_order(one: Closure) -> Closure:
    first, last = one.first, one.last
    if (first.year is None) != (last.year is None):
        raise CraftError(Message("Give both dates a year, or neither of them."), key="to")
    if first.year and (last.year or 0, last.month, last.day) < (first.year, first.month, first.day):
        raise CraftError(Message("The closure ends before it starts. Check the dates."), key="to")
    return one


@dataclass(frozen=True, kw_only=True)
class Week(Table):
    """The shop's working week. Hours are local; every answer is a date or an aware UTC moment."""

    closures: Annotated[
        tuple[Annotated[Closure, BeforeValidator(_with_end), AfterValidator(_in_order)], ...],
        Label(Message("Closed")),
    ] = ()
    half_days: Annotated[tuple[HalfDay, ...], Label(Message("Days with an early end"))] = ()
    open_holidays: Annotated[SomeDays, Label(Message("Public holidays on which we are open"))] = ()
    zone: Annotated[Plain, AfterValidator(_zone), Label(Message("Time zone"))] = "UTC"
    country: Annotated[Plain, Label(Message("Country"))] = ""
    subdivision: Annotated[Plain, Label(Message("Region (for public holidays)"))] = ""
    work: Annotated[OpenHours, Label(Message("Floor hours"))]
    pickup: Annotated[OpenHours, Label(Message("Pickup"))]
    drop_off: Annotated[DropOff, Label(Message("Drop-off"))] = DropOff()
    strip_runs: Annotated[StripDays, Label(Message("Strip runs"))] = StripDays()

    def local(self, moment: datetime) -> datetime:
        """Return `moment` in the shop's zone."""
        return moment.astimezone(ZoneInfo(self.zone))

    def moment(self, day: date, clock: time) -> datetime:
        """Return the UTC moment of a local clock time.

        A time that the clocks skip in spring means the same span after midnight; of a repeated hour
        in autumn the first one is meant.
        """
        return datetime.combine(day, clock, ZoneInfo(self.zone)).astimezone(UTC)

    def shut_because(self, day: date) -> Message | None:
        """Return why the shop is closed on a day that its hours would open, or None."""
        for closure in self.closures:
            if closure.covers(day):
                return Message("{why}", why=closure.why) if closure.why else Message("Closed")
        name = public_holidays(self.country, self.subdivision, day.year).get(day)
        if name and not any(holiday.inside(day.year) == day for holiday in self.open_holidays):
            return Message("{why}", why=name)
        return None

    def spans(self, hours: Hours, day: date) -> tuple[ClockSpan, ...]:
        """Return what is left of `hours` on `day` after closures, holidays and half days."""
        usual = hours[day.weekday()]
        if not usual or self.shut_because(day) is not None:
            return ()
        for half in self.half_days:
            if half.day.inside(day.year) == day:
                return tuple(cut for span in usual if (cut := span.until(half.until)))
        return usual

    def is_open(self, day: date) -> bool:
        """Return whether parts can be collected or work is done on `day`."""
        return bool(self.spans(self.work, day) or self.spans(self.pickup, day))

    def is_working_day(self, day: date) -> bool:
        """Return whether the floor works on `day`."""
        return bool(self.spans(self.work, day))

    def working_days_after(self, day: date, count: int) -> date:
        """Return the `count`-th working day after `day`; 0 gives `day` or the next one."""
        if count == 0:
            return day if self.is_working_day(day) else self.working_days_after(day, 1)
        left = count
        for later in _days_from(day + timedelta(days=1)):
            left -= self.is_working_day(later)
            if left == 0:
                return later
        return day  # pragma: no cover  # _days_from raises first

    def working_day_later(self, moment: datetime) -> datetime:
        """Return the same time of day one working day on; aware UTC."""
        there = self.local(moment)
        return self.moment(self.working_days_after(there.date(), 1), there.time())

    def pickup_hours(self, day: date) -> tuple[tuple[datetime, datetime], ...]:
        """Return when parts can be collected on `day`."""
        return self._moments(self.pickup, day)

    def work_hours(
        self, day: date, hours: Hours | None = None
    ) -> tuple[tuple[datetime, datetime], ...]:
        """Return when the floor (or a station with `hours` of its own) works on `day`."""
        return self._moments(self.work if hours is None else hours, day)

    def windows(self, first_day: date, days: int) -> tuple[Window, ...]:
        """Return the drop-off windows of `days` days, in order."""
        step = timedelta(minutes=self.drop_off.minutes)
        found: list[Window] = []
        for offset in range(days):
            for start, end in self._moments(self.drop_off, first_day + timedelta(days=offset)):
                at = start
                while at + step <= end:
                    found.append(Window(at, at + step, self.drop_off.places))
                    at += step
        return tuple(found)

    def pickup_after(self, moment: datetime) -> datetime:
        """Return the first pickup hour at or after `moment`: an opening, or a full hour."""
        for day in _days_from(self.local(moment).date()):
            for start, end in self.pickup_hours(day):
                for hour in self._full_hours(start, end):
                    if hour >= moment:
                        return hour
        return moment  # pragma: no cover  # _days_from raises first

    def least_stay_ends(self, dropped: datetime) -> datetime:
        """Return the earliest time that may be promised for a drop-off at `dropped`.

        An empty floor could be done within hours; many a shop still wants a night in between.
        """
        if not self.drop_off.least_stay_days:
            return dropped
        day = self.working_days_after(self.local(dropped).date(), self.drop_off.least_stay_days)
        return self.moment(day, time())

    def runs(self, first_day: date, days: int) -> Iterator[Run]:
        """Yield the strip runs that leave within `days` days; none when no days are set."""
        for offset in range(days):
            day = first_day + timedelta(days=offset)
            if day.weekday() in self.strip_runs.days and self.is_working_day(day):
                back = self.working_days_after(day, self.strip_runs.back_after_days)
                yield Run(
                    day,
                    self.moment(day, self.strip_runs.cut_off),
                    back,
                    self.moment(back, self.strip_runs.back_at),
                )

    def strip_run_after(self, ready: datetime) -> Run | None:
        """Return the first strip run that a part ready at `ready` still catches."""
        for run in self.runs(
            self.local(ready).date(), FURTHEST_DAYS if self.strip_runs.days else 0
        ):
            if run.cut_off_at >= ready:
                return run
        return None

    def _moments(self, hours: Hours, day: date) -> tuple[tuple[datetime, datetime], ...]:
        return tuple(
            (self.moment(day, span.opens), self.moment(day, span.closes))
            for span in self.spans(hours, day)
        )

    def _full_hours(self, start: datetime, end: datetime) -> Iterator[datetime]:
        yield start
        local = self.local(start).replace(minute=0, second=0, microsecond=0, fold=0)
        at = local.astimezone(UTC) + timedelta(hours=1)
        while at < end:
            if at > start:
                yield at
            at += timedelta(hours=1)


def _days_from(day: date) -> Iterator[date]:
    for offset in range(FURTHEST_DAYS):
        yield day + timedelta(days=offset)
    msg = f"no open day within {FURTHEST_DAYS} days of {day}"
    raise ValueError(msg)


def read_week(body: Mapping[str, Any], *, checked: bool = False) -> Week:
    """Read the `week` section; raises CraftError with the key that is wrong.

    Whether public holidays are known for its place is looked up unless that was `checked` before:
    the library of all calendars takes longer to load than everything else of the shop.
    """
    week = reading.read(Week, body)
    if not checked:
        try:
            public_holidays(week.country, week.subdivision, ANY_YEAR)
        except (NotImplementedError, KeyError, ValueError):
            sentence = Message(
                "We have no list of public holidays for “{country}” “{subdivision}”.",
                country=week.country,
                subdivision=week.subdivision,
            )
            raise CraftError(sentence, key="country") from None
    return week
