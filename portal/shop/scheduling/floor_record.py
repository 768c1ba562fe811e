"""A simulated floor as bytes and plain values, so that other processes can place candidates on it.

What is kept is what candidates are placed into; the lots and the nominal run are left out.
"""

import io
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import numpy as np

from portal.shop.calendar.week import Week
from portal.shop.calendar.working_minutes import working_time
from portal.shop.route import PartStage
from portal.shop.scheduling.forecast import Floor, sim_inputs_of
from portal.shop.scheduling.insertion import Insertion
from portal.shop.scheduling.station_queue import QueueArrays
from portal.shop.scheduling.stations import Stations


def record_of(floor: Floor) -> bytes:
    """Return the services that a floor keeps on record, as an archive of arrays."""
    out = io.BytesIO()
    arrays = {
        f"{key.value}.{name}": array
        for key, kept in floor.placing.arrays().items()
        for name, array in kept._asdict().items()
    }
    np.savez(out, **arrays)
    return out.getvalue()


def inputs_of(floor: Floor) -> dict[str, Any]:
    """Return what `floor_from` needs besides the documents, as plain values."""
    stations, (first, days) = floor.stations, floor.sim.runs.span
    return {
        "paces": {one.key.value: [one.pace, one.spread] for one in stations.by_key},
        "rework_rate": stations.rework_rate,
        "strip_late_rate": stations.strip_late_rate,
        "span": [first.isoformat(), days],
        "now": floor.now.isoformat(),
        "chance": [floor.sim.seed, floor.sim.replications],
    }


def floor_from(record: bytes, inputs: Mapping[str, Any], stations: Stations, week: Week) -> Floor:
    """Return the floor that was kept; `stations` and `week` are the documents it was made from.

    Raises ValueError or KeyError where it was kept in another form.
    """
    first, days = inputs["span"]
    span = (date.fromisoformat(first), int(days))
    now = datetime.fromisoformat(inputs["now"])
    line = working_time(week, *span)
    learned = stations_from(inputs, stations)
    sim = sim_inputs_of(learned, week, span, (line.at(now), *inputs["chance"]))
    with np.load(io.BytesIO(record), allow_pickle=False) as found:
        arrays = {
            station.key: QueueArrays(*(found[f"{station.key.value}.{name}"] for name in NAMES))
            for station in learned.by_key
            if f"{station.key.value}.{NAMES[0]}" in found
        }
    placing = Insertion.of(arrays, sim)
    return Floor((), learned, week, now, line, (), (), sim, placing.floor, placing)


NAMES = QueueArrays._fields


def stations_from(inputs: Mapping[str, Any], stations: Stations) -> Stations:
    """Return the documents' stations with the paces that were learned."""
    learned = [
        replace(stations[PartStage(key)], pace=pace, spread=spread)
        for key, (pace, spread) in inputs["paces"].items()
    ]
    rates = {name: inputs[name] for name in ("rework_rate", "strip_late_rate")}
    return replace(stations.having(*learned), **rates)
