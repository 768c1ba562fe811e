"""A station that is out of order: from when to when, and back again."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from portal.craft.say import say
from portal.orders.books_documents import document, newest, put_document
from portal.orders.errors import Refused
from portal.orders.unit import Unit
from portal.shop.moves import PartStage

LONGEST = timedelta(days=90)


@dataclass(frozen=True, slots=True)
class OutOfOrder:
    """A span in which a station does not work, aware UTC."""

    station: PartStage
    start: datetime
    end: datetime


def out_of_order(unit: Unit) -> tuple[OutOfOrder, ...]:
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


def stop_station(
    unit: Unit, station: PartStage, start: datetime, end: datetime, *, who: int | None
) -> None:
    """Take a station out of order; every forecast is made anew."""
    now = unit.now()
    if end <= max(start, now):
        raise Refused(say("The end must lie after the start, and ahead of now."), key="until")
    if end - start > LONGEST:
        raise Refused(say("Give a span of at most {n} days.", n=LONGEST.days), key="until")
    span = {"from": start.isoformat(), "to": end.isoformat()}
    _change(unit, station, lambda down: [*down, span], who=who)


def start_station(unit: Unit, station: PartStage, start: datetime, *, who: int | None) -> None:
    """Take a span back: the station works again."""
    _change(
        unit,
        station,
        lambda down: [one for one in down if datetime.fromisoformat(one["from"]) != start],
        who=who,
    )


def _change(unit: Unit, station: PartStage, change: Any, *, who: int | None) -> None:
    seen = newest(unit, "stations")
    body: Mapping[str, Any] = document(unit, "stations").body
    one = body[str(station)]
    made = change(list(one.get("down", [])))
    fresh = {key: value for key, value in one.items() if key != "down"}
    if made:
        fresh["down"] = made
    put_document(unit, "stations", {**body, str(station): fresh}, seen=seen, who=who)
