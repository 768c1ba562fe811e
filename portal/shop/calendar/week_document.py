"""The working week as it is written in shop.toml and edited in Books, read and written back."""

from collections.abc import Mapping
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from portal.craft.messages import CraftError, Message
from portal.shop.calendar.hours import (
    DAYS,
    read_clock,
    read_day,
    read_days,
    read_hours,
    write_day,
    write_hours,
)
from portal.shop.calendar.week import (
    Closure,
    HalfDay,
    Run,
    StripDays,
    Week,
    Window,
    public_holidays,
)

__all__ = ["Closure", "HalfDay", "Run", "StripDays", "Week", "Window", "read_week", "write_week"]

KNOWN = frozenset(
    {"zone", "country", "subdivision", "work", "pickup", "drop_off", "closures", "half_days"}
    | {"open_holidays", "strip_runs"}
)
KNOWN_DROP_OFF = frozenset({*DAYS, "minutes", "places", "least_stay_days", "longest_stay_days"})
KNOWN_CLOSURE = frozenset({"from", "to", "why"})
KNOWN_HALF_DAY = frozenset({"day", "until"})
KNOWN_STRIP = frozenset({"days", "cut_off", "back_after_days", "back_at"})


def read_week(body: Mapping[str, Any], *, checked: bool = False) -> Week:
    """Read the `week` section; raises CraftError with the key that is wrong.

    Whether public holidays are known for its place is looked up unless that was `checked` before:
    the library of all calendars takes longer to load than everything else of the shop.
    """
    _table(body, KNOWN)
    zone = _zone(body.get("zone", "UTC"))
    country, subdivision = str(body.get("country", "")), str(body.get("subdivision", ""))
    if not checked:
        _place(country, subdivision)
    drop_off = dict(_table(body.get("drop_off", {}), KNOWN_DROP_OFF, key="drop_off"))
    return Week(
        zone=zone,
        country=country,
        subdivision=subdivision,
        work=_some(body, "work"),
        pickup=_some(body, "pickup"),
        window_minutes=_whole(drop_off.pop("minutes", 30), 5, 240, key="drop_off.minutes"),
        window_places=_whole(drop_off.pop("places", 2), 1, 99, key="drop_off.places"),
        least_stay_days=_whole(
            drop_off.pop("least_stay_days", 0), 0, 30, key="drop_off.least_stay_days"
        ),
        longest_stay_days=_whole(
            drop_off.pop("longest_stay_days", 15), 1, 200, key="drop_off.longest_stay_days"
        ),
        drop_off=read_hours(drop_off, key="drop_off"),
        closures=tuple(
            _closure(one, key=f"closures[{n}]") for n, one in enumerate(body.get("closures", ()))
        ),
        half_days=tuple(
            _half_day(one, key=f"half_days[{n}]") for n, one in enumerate(body.get("half_days", ()))
        ),
        open_holidays=tuple(
            read_day(one, key="open_holidays") for one in body.get("open_holidays", ())
        ),
        strip=_strip(body.get("strip_runs", {})),
    )


def write_week(week: Week) -> dict[str, Any]:
    """Write a week in the shape that `read_week` reads."""
    return {
        "zone": week.zone,
        "country": week.country,
        "subdivision": week.subdivision,
        "work": write_hours(week.work),
        "pickup": write_hours(week.pickup),
        "drop_off": {
            **write_hours(week.drop_off),
            "minutes": week.window_minutes,
            "places": week.window_places,
            "least_stay_days": week.least_stay_days,
            "longest_stay_days": week.longest_stay_days,
        },
        "closures": [
            {"from": write_day(one.first), "to": write_day(one.last), "why": one.why}
            for one in week.closures
        ],
        "half_days": [
            {"day": write_day(one.day), "until": f"{one.until:%H:%M}"} for one in week.half_days
        ],
        "open_holidays": [write_day(one) for one in week.open_holidays],
        "strip_runs": {
            "days": [DAYS[day] for day in week.strip.days],
            "cut_off": f"{week.strip.cut_off:%H:%M}",
            "back_after_days": week.strip.back_after,
            "back_at": f"{week.strip.back_at:%H:%M}",
        },
    }


def _zone(name: Any) -> str:
    try:
        ZoneInfo(str(name))
    except (ZoneInfoNotFoundError, ValueError) as error:
        sentence = Message(
            "“{text}” is not a time zone. Write it like Europe/London.", text=str(name)
        )
        raise CraftError(sentence, key="zone") from error
    return str(name)


def _place(country: str, subdivision: str) -> None:
    try:
        public_holidays(country, subdivision, 2026)
    except (NotImplementedError, KeyError, ValueError) as error:
        sentence = Message(
            "We have no list of public holidays for “{country}” “{subdivision}”.",
            country=country,
            subdivision=subdivision,
        )
        raise CraftError(sentence, key="country") from error


def _some(body: Mapping[str, Any], key: str) -> Any:
    hours = read_hours(_table(body.get(key, {}), None, key=key), key=key)
    if not any(hours):
        raise CraftError(Message("Enter opening hours for at least one day."), key=key)
    return hours


def _whole(value: Any, low: int, high: int, *, key: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        sentence = Message("Enter a whole number from {low} to {high}.", low=low, high=high)
        raise CraftError(sentence, key=key)
    return value


def _table(value: Any, known: frozenset[str] | None, *, key: str = "") -> Mapping[str, Any]:
    """Return `value` if it is a table of known keys (any, when None): no typing error is lost."""
    if not isinstance(value, Mapping):
        raise CraftError(Message("We don't know “{text}”.", text=str(value)), key=key)
    unknown = sorted(set(value) - (set(value) if known is None else known))
    if unknown:
        sentence = Message("We don't know “{text}”.", text=unknown[0])
        raise CraftError(sentence, key=f"{key}.{unknown[0]}" if key else unknown[0])
    return value


def _half_day(one: Any, *, key: str) -> HalfDay:
    _table(one, KNOWN_HALF_DAY, key=key)
    return HalfDay(
        read_day(one.get("day"), key=f"{key}.day"), read_clock(one.get("until"), key=f"{key}.until")
    )


def _closure(one: Any, *, key: str) -> Closure:
    _table(one, KNOWN_CLOSURE, key=key)
    first = read_day(one.get("from"), key=f"{key}.from")
    last = read_day(one.get("to", one.get("from")), key=f"{key}.to")
    if (first.year is None) != (last.year is None):
        sentence = Message("Give both dates a year, or neither of them.")
        raise CraftError(sentence, key=f"{key}.to")
    if first.year is not None and (last.year or 0, last.month, last.day) < (
        first.year,
        first.month,
        first.day,
    ):
        raise CraftError(
            Message("The closure ends before it starts. Check the dates."), key=f"{key}.to"
        )
    return Closure(first, last, str(one.get("why", "")))


def _strip(body: Any) -> StripDays:
    _table(body, KNOWN_STRIP, key="strip_runs")
    return StripDays(
        days=read_days(body.get("days", ()), key="strip_runs.days"),
        cut_off=read_clock(body.get("cut_off", "10:00"), key="strip_runs.cut_off"),
        back_after=_whole(body.get("back_after_days", 2), 1, 30, key="strip_runs.back_after_days"),
        back_at=read_clock(body.get("back_at", "15:00"), key="strip_runs.back_at"),
    )
