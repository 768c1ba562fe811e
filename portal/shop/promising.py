"""The promise: the first pickup hour by which a candidate is surely enough done.

A candidate is placed into the floor as it was simulated forward, among the promises already
given. Its own promise decides its turn, so the promise is the one that keeps itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from portal.shop.forecast import Floor, look_ahead
from portal.shop.lots import JobWork, lots_of, standard_work
from portal.shop.stations import Stations
from portal.shop.week import Week, Window

COLUMNS = 100  # replications that a list of windows is judged by


@dataclass(frozen=True, slots=True)
class Calibration:
    """How far the shop's real finishes lie from what was foreseen.

    `stretch` multiplies the distance from the likely to the safe moment.
    """

    stretch: float = 1.0


@dataclass(frozen=True, slots=True)
class Offer:
    """A drop-off window with the pickup hour it leads to, and the moment before rounding up."""

    window: Window
    ready_at: datetime
    raw_at: datetime


def offers(  # noqa: PLR0913  # the state of the floor is what it is
    candidate: JobWork,
    windows: Sequence[Window],
    jobs: Sequence[JobWork],
    stations: Stations,
    week: Week,
    now: datetime,
    *,
    seed: int,
    calibration: Calibration,
) -> tuple[Offer, ...]:
    """Return what each window leads to, in the order of the windows."""
    floor = look_ahead(jobs, stations, week, now, seed=seed)
    return offers_on(floor, candidate, windows, calibration)


def offers_on(
    floor: Floor,
    candidate: JobWork,
    windows: Sequence[Window],
    calibration: Calibration,
    *,
    columns: int = COLUMNS,
) -> tuple[Offer, ...]:
    """Return what each window leads to on a floor that was simulated before."""
    import numpy as np  # noqa: PLC0415  # numpy only where something is forecast

    from portal.shop.placing import Placing  # noqa: PLC0415  # as above

    if not windows:
        return ()
    placing = Placing(floor.replayed, columns)
    lots = lots_of([candidate], floor.stations, floor.line.at, floor.ground.now)
    arrive = np.array([max(floor.ground.now, floor.line.at(one.end)) for one in windows])
    done = placing.done(lots, arrive, standard_work(candidate, floor.stations))
    likely, safe = np.percentile(done, (50, 95), axis=1)
    promise = likely + calibration.stretch * (safe - likely)
    # a later drop-off never leads to an earlier date
    raw = [floor.line.moment(float(one)) for one in np.maximum.accumulate(promise)]
    return tuple(
        Offer(window, floor.week.pickup_after(max(at, window.end)), at)
        for window, at in zip(windows, raw, strict=True)
    )
