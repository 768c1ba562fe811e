"""From the true state of every open job to when each will be done: the floor simulated forward.

Pure: the same jobs, stations, week, moment and seed give the same result. numpy is imported only
when something is really forecast.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from portal.shop.calendar.week import Week
from portal.shop.calendar.working_minutes import WorkingTime, minutes_a_week, working_time
from portal.shop.route import PartStage
from portal.shop.scheduling.dispatch import DispatchSimulation, DispatchStep
from portal.shop.scheduling.lots import JobWork, Lot, PartState, lots_of
from portal.shop.scheduling.stations import Stations

if TYPE_CHECKING:
    from portal.shop.scheduling.insertion import Insertion
    from portal.shop.scheduling.sim_inputs import SimInputs
    from portal.shop.scheduling.simulation import Replay

__all__ = ["Floor", "Forecast", "JobWork", "Outlook", "PartState", "forecast_of", "simulate_floor"]
REPLICATIONS = 400
KEPT = 100  # replications whose services stay on record, for placing candidates
SAFE = 95.0
LOOK_BACK = timedelta(days=30)  # a strip run that has been away longer is lost, not late


@dataclass(frozen=True, slots=True)
class Outlook:
    """When a job is likely (even chance) and safely (95 in 100) done, and its bottleneck."""

    likely_at: datetime
    safe_at: datetime
    station: PartStage


@dataclass(frozen=True, slots=True)
class Forecast:
    """The outlook of every job, and the order in which each station takes jobs."""

    outlook: dict[int, Outlook]
    sequence: dict[PartStage, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Floor:
    """The floor simulated forward from `now`: what offers and forecasts are read from."""

    jobs: tuple[JobWork, ...]
    stations: Stations
    week: Week
    now: datetime
    line: WorkingTime
    lots: tuple[Lot, ...]
    steps: tuple[DispatchStep, ...]
    sim: "SimInputs"
    replayed: "Replay"
    placing: "Insertion"


def simulate_floor(  # the state of the floor is what it is
    jobs: Sequence[JobWork],
    stations: Stations,
    week: Week,
    now: datetime,
    *,
    seed: int,
    replications: int = REPLICATIONS,
    keep: int = KEPT,
) -> Floor:
    """Simulate the floor forward.

    The services of `keep` replications stay on record, for inserting candidates.
    """
    # numpy only where something is forecast
    from portal.shop.scheduling import insertion as placing  # noqa: PLC0415
    from portal.shop.scheduling import simulation  # noqa: PLC0415

    span = _span(jobs, stations, week, now)
    line = working_time(week, *span)
    at_now = line.at(now)
    lots = lots_of(jobs, stations, line.at, at_now)
    sim = sim_inputs_of(stations, week, span, (at_now, seed, replications))
    steps = DispatchSimulation(lots, stations, sim).run()
    replayed = simulation.replay(lots, steps, sim, keep=keep)
    return Floor(
        tuple(jobs),
        stations,
        week,
        now,
        line,
        tuple(lots),
        tuple(steps),
        sim,
        replayed,
        placing.Insertion(replayed),
    )


def forecast_of(  # as simulate_floor
    jobs: Sequence[JobWork],
    stations: Stations,
    week: Week,
    now: datetime,
    *,
    seed: int,
    replications: int = REPLICATIONS,
) -> Forecast:
    """Return the outlook of every job from `now`. Finished jobs are left out."""
    floor = simulate_floor(jobs, stations, week, now, seed=seed, replications=replications, keep=0)
    return read_forecast(floor)


def read_forecast(floor: Floor, *, margin: float = 0.0) -> Forecast:
    """Read every job's outlook and each station's sequence from a simulated floor.

    `margin`, in working minutes, is added to the safe moments: the learned margin of promises.
    """
    import numpy as np  # noqa: PLC0415  # the floor was simulated, so numpy is there already

    if not floor.lots:
        return Forecast({}, {})
    ready = floor.replayed.ready
    own: dict[int, list[int]] = {}
    for index, lot in enumerate(floor.lots):
        own.setdefault(lot.job, []).append(index)
    # the lots of a job stand together: a job is done when the last of them is
    done = np.maximum.reduceat(ready, [lots[0] for lots in own.values()], axis=0)
    likely, safe = np.percentile(done, (50, SAFE), axis=1, overwrite_input=True).tolist()
    means = ready.mean(axis=1).tolist()
    outlook: dict[int, Outlook] = {}
    for (job, lots), even, sure in zip(own.items(), likely, safe, strict=True):
        if not floor.jobs[job].booked:
            continue
        outlook[floor.jobs[job].job_id] = Outlook(
            floor.line.moment(even),
            floor.line.moment(max(even, sure + margin)),
            _holds_up(floor, max(lots, key=means.__getitem__)),
        )
    return Forecast(outlook, _sequence(floor))


def _holds_up(floor: Floor, index: int) -> PartStage:
    """Return the bottleneck: the station where a lot waits longest, or the one it visits next."""
    waits = floor.replayed.waits[index]
    if waits and max(waits.values()) > 1.0:
        return max(waits, key=lambda key: waits[key])
    lot = floor.lots[index]
    outside = (op.station for op in lot.ops if op.station.leaves_the_house)
    return next(outside, max(lot.ops, key=lambda op: op.minutes).station)


def _sequence(floor: Floor) -> dict[PartStage, tuple[int, ...]]:
    order: dict[PartStage, dict[int, None]] = {}
    for step in floor.steps:
        for index in step.lots:
            job = floor.jobs[floor.lots[index].job]
            if job.booked:
                order.setdefault(step.station, {}).setdefault(job.job_id)
    return {key: tuple(jobs) for key, jobs in order.items()}


def _span(
    jobs: Sequence[JobWork], stations: Stations, week: Week, now: datetime
) -> tuple[date, int]:
    """Return first day and length of an axis long enough for all that is open, and much more."""
    load = 0.0
    furthest = now
    for job in jobs:
        furthest = max(furthest, job.arrives_at)
        for part in job.parts:
            work = part.work
            load += max(sum(work.coat), *work.minutes.values()) + len(work.coat) * 8
    weekly = minutes_a_week(week.work)
    slowest = max(one.pace for one in stations.by_key)
    days = 150 + (furthest - now).days + 7 * load * slowest * 1.3 / max(weekly, 1)
    # from the first of a month on, so that the axis is laid out once a month
    first = week.local(now - LOOK_BACK).date().replace(day=1)
    return first, 90 * int(1 + (days + 31) / 90)


def sim_inputs_of(
    stations: Stations,
    week: Week,
    span: tuple[date, int],
    chance: tuple[float, int, int],
) -> "SimInputs":
    """Return the inputs of a replay; `chance` is now on the axis, the seed and how many runs."""
    from portal.shop.scheduling import sim_inputs as sim  # noqa: PLC0415  # as in simulate_floor

    return sim.SimInputs(
        stations=stations,
        runs=sim.RunsByDays(week, span),
        own={
            one.key: sim.own_time(one, week, span)
            for one in stations.by_key
            if one.hours is not None or one.down
        },
        now=chance[0],
        seed=chance[1],
        replications=chance[2],
    )
