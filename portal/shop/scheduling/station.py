"""The stations of the floor: capacity, times and hours.

They are the document `stations` of shop.toml, edited in the office. Its keys are the stations at
which a part waits for a place, and what all stations share. Minutes are standard minutes of one
person or machine; `pace` says how this shop really takes them (1.1: ten percent longer). Lengths
in mm, masses in kg, temperatures in °C.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, make_dataclass, replace
from datetime import UTC, datetime
from functools import cache, partial
from typing import Annotated, Any, get_type_hints

from pydantic import BeforeValidator, Field, PlainSerializer

from portal.craft import reading
from portal.craft.messages import CraftError, Message
from portal.craft.schema import ELSEWHERE, Label, Table, entries, number, whole
from portal.shop.calendar.hours import OpenHours
from portal.shop.route import QUEUED, PartStage

MINUTES = Message("min")
Outage = tuple[datetime, datetime]


def _down(one: Any) -> Outage:
    try:
        start = datetime.fromisoformat(str(one["from"]))
        end = datetime.fromisoformat(str(one["to"]))
    except (KeyError, TypeError, ValueError):
        raise CraftError(Message("Enter start and end, like 2026-06-01T08:00+01:00.")) from None
    if start.tzinfo is None or end.tzinfo is None or end <= start:
        raise CraftError(Message("The end must be after the start. Give both a time zone."))
    return (start.astimezone(UTC), end.astimezone(UTC))


def _span(down: Outage) -> dict[str, str]:
    return {"from": down[0].isoformat(), "to": down[1].isoformat()}


def _whole(value: Any) -> Any:
    """Return a whole number that was written 2.0 as 2."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _size(value: Any) -> tuple[float, float, float]:
    try:
        length, width, height = (float(side) for side in value)
    except (TypeError, ValueError):
        raise CraftError(Message("Enter the oven's length, width and height in mm.")) from None
    if not all(100 <= side <= 100_000 for side in (length, width, height)):
        raise CraftError(Message("Each side must be at least 100 mm."))
    return (length, width, height)


@dataclass(frozen=True, slots=True)
class Station(Table):
    """One station: places, prior minutes per part, spread, what it adds, and when it works.

    `minutes` is fixed per part, `per_m2` per m² coated; `spread` the standard deviation of one
    part's time (in the oven: of a load's) over its mean; `pace` the learned factor on all
    minutes; `hours` None means the shop's own; `down` holds spans (aware UTC) in which it is out
    of order.
    """

    key: Annotated[PartStage, Field(exclude=True), ELSEWHERE]
    places: Annotated[int, whole(1, 20), BeforeValidator(_whole), Label(Message("Places"))] = 1
    minutes: Annotated[float, number(0, 600), Label(Message("Minutes"))] = 0.0
    per_m2: Annotated[float, number(0, 600), Label(Message("Per m²"))] = 0.0
    spread: Annotated[float, number(0, 2), Label(Message("Spread"))] = 0.25
    pace: Annotated[float, number(0.2, 5), Label(Message("Pace"), rare=True)] = 1.0
    hours: Annotated[OpenHours | None, ELSEWHERE] = None
    down: Annotated[
        tuple[Annotated[Outage, BeforeValidator(_down), PlainSerializer(_span)], ...], ELSEWHERE
    ] = ()


@dataclass(frozen=True, slots=True)
class Oven(Table):
    """The oven: what fits, how long it needs besides the hold at part metal temperature.

    `fill` is the share of its volume that racked parts can take; `apart_c` how far cure
    temperatures may lie apart and still share a load (the load then runs at the highest);
    `hottest_c` the highest set point that it reaches.
    """

    size_mm: Annotated[
        tuple[float, float, float],
        BeforeValidator(_size),
        Label(Message("Inside, length × width × height"), unit="mm"),
    ] = (1800.0, 1500.0, 1800.0)
    limit_kg: Annotated[float, number(1, 100_000), Label(Message("Load"), unit="kg")] = 250.0
    heat_up: Annotated[float, number(0, 600), Label(Message("Heating up"), unit=MINUTES)] = 30.0
    cool_down: Annotated[float, number(0, 600), Label(Message("Cooling down"), unit=MINUTES)] = 20.0
    fill: Annotated[
        float, number(0.05, 1), Label(Message("Share of the oven space that parts fill"))
    ] = 0.6
    apart_c: Annotated[
        float, number(0, 50), Label(Message("Bakes in one load may differ by"), unit="°C")
    ] = 0
    hottest_c: Annotated[
        int, whole(100, 400), Label(Message("Highest temperature the oven reaches"), unit="°C")
    ] = 230


@dataclass(frozen=True, slots=True)
class Stations:
    """All stations of the floor, with what they share."""

    by_key: tuple[Station, ...]
    oven: Annotated[Oven, Label(Message("Oven"))] = Oven()
    colour_change: Annotated[
        float, number(0, 240), Label(Message("Changing the colour in the booth"), unit=MINUTES)
    ] = 12.0
    rework_rate: Annotated[
        float, number(0, 0.5), Label(Message("Share of parts that fail inspection"))
    ] = 0.04
    strip_late_rate: Annotated[
        float, number(0, 0.9), Label(Message("Share of strip runs that come a day late"))
    ] = 0.05

    def __getitem__(self, key: PartStage) -> Station:
        for one in self.by_key:
            if one.key is key:
                return one
        raise KeyError(key)

    def having(self, *changed: Station) -> "Stations":
        """Return the stations with some of them replaced."""
        new = {one.key: one for one in changed}
        return replace(self, by_key=tuple(new.get(one.key, one) for one in self.by_key))


def stations_shape() -> type[Table]:
    """Return the shape of the document: a key for each station, and what they share."""
    return _shape_with(QUEUED)


@cache
def _shape_with(stages: tuple[PartStage, ...]) -> type[Table]:
    hints = get_type_hints(Stations, include_extras=True)
    own = [(stage.value, _station_type(stage), _usual(stage)) for stage in stages]
    shared = [
        (one.name, hints[one.name], field(default=one.default))
        for one in fields(Stations)
        if one.name != "by_key"
    ]
    return make_dataclass(
        "StationsDocument", [*own, *shared], bases=(Table,), frozen=True, kw_only=True
    )


def _station_type(stage: PartStage) -> Any:
    return Annotated[Station, BeforeValidator(partial(_keyed, stage)), Label(stage)]


def _usual(stage: PartStage) -> Any:
    """Return the field of a station, with a default where shops were written before it came."""
    minutes = stage.row.since_later
    return field() if minutes is None else field(default=Station(stage, minutes=minutes))


def _keyed(stage: PartStage, body: Any) -> Any:
    """Return a station's table with its key, which stands before it in the document."""
    if not isinstance(body, Mapping):
        return body
    if "key" in body:
        known = tuple(one for one in entries(Station) if one != "key")
        raise CraftError(reading.unknown_key("key", known), key="key")
    return {**body, "key": stage}


def read_stations(body: Mapping[str, Any]) -> Stations:
    """Read the `stations` section; raises CraftError with the key that is wrong."""
    document: Any = reading.read(stations_shape(), body)
    shared = {one.name: getattr(document, one.name) for one in fields(Stations)[1:]}
    return Stations(tuple(getattr(document, stage.value) for stage in QUEUED), **shared)
