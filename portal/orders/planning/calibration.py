"""Paces, rework and kept promises learned from the shop's own events, as forecasts use them.

The documents' figures are the prior; learned ones count beside them once there are enough
(`shop.scheduling.calibration`). Which working times the events can tell is decided in
`orders.planning.service_times`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import sqrt
from statistics import median
from typing import Any

from sqlalchemy.orm import Session

from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.planning.promises import Promises, promises_of
from portal.orders.planning.service_times import (
    late_runs,
    moves_of_parts,
    oven_loads,
    stays_by_station,
)
from portal.shop.route import PartStage
from portal.shop.scheduling.calibration import (
    LearnedRate,
    Pace,
    learn_pace,
    learn_rate,
)
from portal.shop.scheduling.promising import BELOW_AIM, Calibration
from portal.shop.scheduling.stations import Station, Stations
from portal.shop.scheduling.visits import Visit, timed
from portal.shop.shop import Shop
from portal.shop.verbs import EventVerb

LASTS = timedelta(hours=1)  # paces change over weeks


@dataclass(frozen=True, slots=True)
class LearnedStation:
    """A station as set and as learned, side by side.

    `usual` is what a usual part (in the oven: a usual load) is expected to take in minutes by the
    set times, None before anything was timed; `parts` how many are usually timed together.
    """

    written: Station
    pace: Pace
    usual: float | None
    parts: float = 1.0

    @property
    def really(self) -> float | None:
        """Minutes that it really takes."""
        return None if self.usual is None else self.usual * self.pace.ratio

    @property
    def slower_percent(self) -> int:
        """By how much it really takes longer than set; negative when it is quicker."""
        return round(100 * (self.pace.ratio - 1))

    @property
    def put_aside(self) -> int:
        """How many of its times are too far from the rest to be plausible."""
        return self.pace.all_visits - self.pace.visits

    def in_force(self) -> Station:
        """Return the station that forecasts use.

        The spread of several places side by side can't be told from their departures. A lot's times
        spread less than those of its parts, by the root of how many there usually are.
        """
        if not self.pace.counts:
            return self.written
        one, spread = self.written, self.written.spread
        if one.places == 1:
            spread = min(2 * spread, max(spread / 2, self.pace.spread * sqrt(self.parts)))
        return replace(one, pace=one.pace * self.pace.ratio, spread=spread)


@dataclass(frozen=True, slots=True)
class Learned:
    """Everything learned, beside what is set."""

    written: Stations
    stations: tuple[LearnedStation, ...]
    rework: LearnedRate
    late_runs: LearnedRate
    promises: Promises

    def in_force(self) -> Stations:
        """Return the stations that forecasts use."""
        made = self.written.having(*(one.in_force() for one in self.stations))
        if self.rework.counts:
            made = replace(made, rework_rate=self.rework.share)
        if self.late_runs.counts:
            made = replace(made, strip_late_rate=self.late_runs.share)
        return made


@dataclass(frozen=True, slots=True)
class _CachedCalibration:
    """What was learned last, from which database and stations, and when."""

    bind: Any
    stations: Stations
    at: datetime
    learned: Learned


@dataclass(slots=True)
class _CalibrationCache:
    """What this process learned last; threads replace it as a whole."""

    last: _CachedCalibration | None = None


_CACHE = _CalibrationCache()


def stations_now(session: Session, shop: Shop, now: datetime) -> Stations:
    """Return the stations with their learned paces, as every forecast uses them."""
    return _learned(session, shop, now).in_force()


def calibration_now(session: Session, shop: Shop, now: datetime) -> Calibration:
    """Return the calibration of promises, after what became of those before."""
    margins = _learned(session, shop, now).promises.margins
    return Calibration(shop.promise_percent - BELOW_AIM, margins)


@read_only
def what_is_learned(unit: UnitOfWork, session: Session) -> Learned:
    """Return set and learned values side by side, computed anew for the office."""
    return learn(session, unit.shop(session), unit.now())


def learn(session: Session, shop: Shop, now: datetime) -> Learned:
    """Learn from the events of the last year, or the last 8,000 of them."""
    rows = moves_of_parts(session, now)
    stays = stays_by_station(session, rows, shop, now)
    found = []
    for station in shop.stations.by_key:
        if station.key.is_batch:
            visits = oven_loads(session, shop, now)
        else:
            change = shop.stations.colour_change if station.key.uses_powder else 0.0
            own = stays.get(station.key, ())
            visits = timed(own, station.key, station.places, colour_change=change)
        load = station.key.is_batch
        parts = median(one.parts for one in visits) if visits and not load else 1.0
        found.append(
            LearnedStation(
                station,
                learn_pace(visits, station.spread / sqrt(parts), now),
                _usual(visits),
                parts,
            )
        )
    looked = [row.verb for row in rows if PartStage(row.from_).is_gate]
    rework = learn_rate(looked.count(EventVerb.REWORK), len(looked), shop.stations.rework_rate)
    late = learn_rate(*late_runs(session, shop, now), shop.stations.strip_late_rate)
    return Learned(shop.stations, tuple(found), rework, late, promises_of(session, shop, now))


def _learned(session: Session, shop: Shop, now: datetime) -> Learned:
    bind, cached = session.get_bind(), _CACHE.last
    if (
        cached is not None
        and cached.bind is bind
        and cached.stations == shop.stations
        and timedelta(0) <= now - cached.at < LASTS
    ):
        return cached.learned
    learned = learn(session, shop, now)
    _CACHE.last = _CachedCalibration(bind, shop.stations, now, learned)
    return learned


def _usual(visits: Sequence[Visit]) -> float | None:
    if not visits:
        return None
    load = visits[0].station.is_batch
    return median(one.expected / (1 if load else one.parts) for one in visits)
