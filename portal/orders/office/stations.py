"""Stations that are out of order for a while, or that have hours of their own."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from portal.craft.messages import Message
from portal.craft.reading import write
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.office.documents import document, newest, put_document
from portal.shop.route import PartStage

LONGEST = timedelta(days=90)
DayHours = Mapping[str, Sequence[str]]  # `mon` → `["08:00-12:30"]`


@dataclass(frozen=True, slots=True)
class OutOfOrder:
    """A span in which a station does not work, aware UTC."""

    station: PartStage
    start: datetime
    end: datetime


def out_of_order(unit: UnitOfWork) -> tuple[OutOfOrder, ...]:
    """Return the spans that are not over yet."""
    now = unit.now()
    with unit.read() as session:
        stations = unit.shop(session).stations
    found = [
        OutOfOrder(one.key, start, end)
        for one in stations.by_key
        for start, end in one.down
        if end > now
    ]
    return tuple(sorted(found, key=lambda one: one.start))


def own_hours(unit: UnitOfWork) -> dict[PartStage, DayHours]:
    """Return every station's own hours, written by day; empty where the works' hours hold."""
    with unit.read() as session:
        stations = unit.shop(session).stations
    return {one.key: write(one.hours) if one.hours else {} for one in stations.by_key}


def set_hours(unit: UnitOfWork, station: PartStage, hours: DayHours, *, who: int | None) -> None:
    """Give a station hours of its own; empty means the shop's hours.

    Every forecast is made anew. Raise `Refused` with `key` naming the day.
    """
    written = {day: list(spans) for day, spans in hours.items() if spans}
    try:
        _change(unit, station, "hours", lambda _: written, who=who)
    except Refused as refusal:
        raise Refused(refusal.sentence, key=refusal.key.rpartition(".")[2]) from refusal


def stop_station(
    unit: UnitOfWork, station: PartStage, start: datetime, end: datetime, *, who: int | None
) -> None:
    """Take a station out of order; every forecast is made anew."""
    now = unit.now()
    if end <= max(start, now):
        raise Refused(Message("The end must be after the start, and in the future."), key="until")
    if end - start > LONGEST:
        raise Refused(Message("Enter a period of at most {n} days.", n=LONGEST.days), key="until")
    span = {"from": start.isoformat(), "to": end.isoformat()}
    _change(unit, station, "down", lambda down: [*(down or ()), span], who=who)


def start_station(
    unit: UnitOfWork, station: PartStage, start: datetime, *, who: int | None
) -> None:
    """Remove a span: the station works again."""
    _change(
        unit,
        station,
        "down",
        lambda down: [one for one in down or () if datetime.fromisoformat(one["from"]) != start],
        who=who,
    )


def _change(
    unit: UnitOfWork, station: PartStage, name: str, change: Any, *, who: int | None
) -> None:
    """Put what `change` makes of one of a station's values into a new edition; empty: nothing."""
    expected_edition_id = newest(unit, "stations")
    body: Mapping[str, Any] = document(unit, "stations").body
    one = body[str(station)]
    made = change(one.get(name))
    fresh = {key: value for key, value in one.items() if key != name}
    if made:
        fresh[name] = made
    put_document(
        unit,
        "stations",
        {**body, str(station): fresh},
        expected_edition_id=expected_edition_id,
        who=who,
    )
