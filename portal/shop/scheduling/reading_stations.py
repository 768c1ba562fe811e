"""The stations as they are written in shop.toml and edited in Books, read and written back."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from portal.craft.messages import CraftError, Message
from portal.shop.calendar.hours import Hours, read_hours, write_hours
from portal.shop.route import QUEUED, PartStage
from portal.shop.scheduling.station import Oven, Station, Stations

_STATION = {"places", "minutes", "per_m2", "spread", "pace", "hours", "down"}
_OVEN = {"size_mm", "limit_kg", "heat_up", "cool_down", "fill", "apart_c"}
_SHARED = {"colour_change", "rework_rate", "strip_late_rate"}


def read_stations(body: Mapping[str, Any]) -> Stations:
    """Read the `stations` section; raises CraftError with the key that is wrong."""
    names = {str(key.value) for key in QUEUED}
    _only(body, names | {"oven"} | _SHARED, key="")
    missing = sorted(
        str(key) for key in QUEUED if key.value not in body and key.row.since_later is None
    )
    if missing:
        raise CraftError(
            Message("The station “{text}” is missing.", text=missing[0]), key=missing[0]
        )
    _only(body.get("oven", {}), _OVEN, key="oven.")
    oven = dict(body.get("oven", {}))
    if "size_mm" in oven:
        oven["size_mm"] = _size(oven["size_mm"])
    usual = Oven()
    return Stations(
        by_key=tuple(_station(key, body.get(key.value, {})) for key in QUEUED),
        oven=Oven(
            size_mm=oven.get("size_mm", usual.size_mm),
            limit_kg=_number(oven, "limit_kg", usual.limit_kg, 1, 100_000, at="oven."),
            heat_up=_number(oven, "heat_up", usual.heat_up, 0, 600, at="oven."),
            cool_down=_number(oven, "cool_down", usual.cool_down, 0, 600, at="oven."),
            fill=_number(oven, "fill", usual.fill, 0.05, 1, at="oven."),
            apart_c=int(_number(oven, "apart_c", usual.apart_c, 0, 50, at="oven.")),
        ),
        colour_change=_number(body, "colour_change", 12, 0, 240),
        rework_rate=_number(body, "rework_rate", 0.04, 0, 0.5),
        strip_late_rate=_number(body, "strip_late_rate", 0.05, 0, 0.9),
    )


def write_stations(stations: Stations) -> dict[str, Any]:
    """Write stations in the shape that `read_stations` reads."""
    oven = stations.oven
    return {
        "colour_change": stations.colour_change,
        "rework_rate": stations.rework_rate,
        "strip_late_rate": stations.strip_late_rate,
        "oven": {
            "size_mm": list(oven.size_mm),
            "limit_kg": oven.limit_kg,
            "heat_up": oven.heat_up,
            "cool_down": oven.cool_down,
            "fill": oven.fill,
            "apart_c": oven.apart_c,
        },
        **{str(one.key.value): _written(one) for one in stations.by_key},
    }


def _written(one: Station) -> dict[str, Any]:
    body: dict[str, Any] = {
        "places": one.places,
        "minutes": one.minutes,
        "per_m2": one.per_m2,
        "spread": one.spread,
        "pace": one.pace,
    }
    if one.hours is not None:
        body["hours"] = write_hours(one.hours)
    if one.down:
        body["down"] = [
            {"from": start.isoformat(), "to": end.isoformat()} for start, end in one.down
        ]
    return body


def _station(key: PartStage, body: Mapping[str, Any]) -> Station:
    at = f"{key.value}."
    _only(body, _STATION, key=at)
    places = _number(body, "places", 1, 1, 20, at=at)
    if places != int(places):
        raise CraftError(
            Message("Enter the number of places as a whole number."), key=f"{at}places"
        )
    return Station(
        key=key,
        places=int(places),
        minutes=_number(body, "minutes", key.row.since_later or 0, 0, 600, at=at),
        per_m2=_number(body, "per_m2", 0, 0, 600, at=at),
        spread=_number(body, "spread", 0.25, 0, 2, at=at),
        pace=_number(body, "pace", 1, 0.2, 5, at=at),
        hours=_hours(body["hours"], key=f"{at}hours") if body.get("hours") else None,
        down=tuple(_down(one, key=f"{at}down[{n}]") for n, one in enumerate(body.get("down", ()))),
    )


def _hours(value: Any, *, key: str) -> Hours:
    hours = read_hours(_table(value, key=key), key=key)
    if not any(hours):
        raise CraftError(Message("Enter opening hours for at least one day."), key=key)
    return hours


def _down(one: Any, *, key: str) -> tuple[datetime, datetime]:
    try:
        start = datetime.fromisoformat(str(one["from"]))
        end = datetime.fromisoformat(str(one["to"]))
    except (KeyError, TypeError, ValueError) as error:
        sentence = Message("Enter start and end, like 2026-06-01T08:00+01:00.")
        raise CraftError(sentence, key=key) from error
    if start.tzinfo is None or end.tzinfo is None or end <= start:
        sentence = Message("The end must be after the start. Give both a time zone.")
        raise CraftError(sentence, key=key)
    return (start.astimezone(UTC), end.astimezone(UTC))


def _size(value: Any) -> tuple[float, float, float]:
    try:
        length, width, height = (float(side) for side in value)
    except (TypeError, ValueError) as error:
        raise CraftError(
            Message("Enter the oven's length, width and height in mm."), key="oven.size_mm"
        ) from error
    if not all(100 <= side <= 100_000 for side in (length, width, height)):
        raise CraftError(Message("Each side must be at least 100 mm."), key="oven.size_mm")
    return (length, width, height)


def _number(  # where, what, usual and both limits belong together
    body: Mapping[str, Any], key: str, usual: float, low: float, high: float, *, at: str = ""
) -> float:
    value = body.get(key, usual)
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        sentence = Message("Enter a number from {low} to {high}.", low=low, high=high)
        raise CraftError(sentence, key=f"{at}{key}")
    return float(value)


def _table(value: Any, *, key: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise CraftError(Message("We don't know “{text}”.", text=str(value)), key=key)
    return value


def _only(body: Any, known: set[str], *, key: str) -> None:
    unknown = sorted(set(_table(body, key=key.rstrip("."))) - known)
    if unknown:
        sentence = Message("We don't know “{text}”.", text=unknown[0])
        raise CraftError(sentence, key=f"{key}{unknown[0]}")
