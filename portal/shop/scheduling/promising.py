"""The promise: the first pickup hour by which a candidate is surely enough done.

A candidate is inserted into the simulated floor, among everything that is here and booked. The
promise is a percentile of when it would be done, plus a margin learned from the shop's own record:
as long as its promises of that kind and so far ahead have needed.
"""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from portal.shop.calendar.week import Week, Window
from portal.shop.calendar.working_minutes import minutes_a_day
from portal.shop.scheduling.forecast import Floor, simulate_floor
from portal.shop.scheduling.lots import JobWork, lots_of, standard_work, turn_of
from portal.shop.scheduling.margins import Margins, horizon_of, kind_of
from portal.shop.scheduling.stations import Stations
from portal.shop.states import Horizon, OrderKind

STANDARD = Margins()
BELOW_AIM = 5.0  # by how much the percentile stands below the share that must be kept


@dataclass(frozen=True, slots=True)
class Calibration:
    """How promises are read from a simulation.

    `percent` is the percentile of the simulated moments, `margins` the working minutes on top. The
    percentile is a little below the share that must be kept: of a hundred parts one or two come
    back from inspection and cost a day, and a percentile that covers them all would delay every
    promise by that day. The margins, learned from kept and broken promises, make up for it, and for
    all that a simulation leaves out: a replay keeps one order of the floor, the floor itself does
    not.
    """

    percent: float = 90.0
    margins: Margins = STANDARD

    @property
    def margin(self) -> float:
        """The margin of an order that is here or comes soon, whatever its kind."""
        return self.margins.whole + self.margins.horizons.get(Horizon.NEAR, 0.0)


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What the simulation alone says, before any margin, and whose margin was added to it."""

    at: datetime
    kind: OrderKind
    horizon: Horizon


@dataclass(frozen=True, slots=True)
class Offer:
    """A drop-off window with the pickup hour it leads to, and the moment before rounding up."""

    window: Window
    ready_at: datetime
    raw_at: datetime
    foreseen: Foreseen


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
    """Return the offer of each window, in order."""
    floor = simulate_floor(jobs, stations, week, now, seed=seed)
    return offers_on(floor, candidate, windows, calibration)


def offers_on(
    floor: Floor, candidate: JobWork, windows: Sequence[Window], calibration: Calibration
) -> tuple[Offer, ...]:
    """Return the offer of each window on a floor that was simulated before."""
    # numpy only where something is forecast
    import numpy as np  # noqa: PLC0415

    from portal.shop.scheduling.idle_hours import without_idle_hours  # noqa: PLC0415

    if not windows:
        return ()
    lots = lots_of([candidate], floor.stations, floor.line.at, floor.sim.now)
    arrive = np.array([max(floor.sim.now, floor.line.at(one.end)) for one in windows])
    kind, day = kind_of(candidate), minutes_a_day(floor.week.work)
    horizons = [horizon_of((float(at) - floor.sim.now) / day) for at in arrive]
    margins = np.array([calibration.margins.of(kind, one) for one in horizons])
    work = standard_work(candidate, floor.stations)
    turns = np.array([turn_of(candidate, float(at), work) for at in arrive])
    done = floor.placing.done(lots, arrive, turns)
    foreseen = np.percentile(done, calibration.percent, axis=1)
    # a later drop-off never leads to an earlier date
    promised = np.maximum.accumulate(without_idle_hours(floor, foreseen + margins))
    week, moment = floor.week, floor.line.moment
    return tuple(
        Offer(
            window,
            week.pickup_after(max(moment(at), window.end, week.least_stay_ends(window.start))),
            moment(at),
            Foreseen(moment(alone), kind, horizon),
        )
        for window, at, alone, horizon in zip(
            windows, promised.tolist(), foreseen.tolist(), horizons, strict=True
        )
    )


def offers_together(
    floor: Floor,
    orders: Sequence[tuple[JobWork, Window]],
    calibration: Calibration,
) -> tuple[Offer, ...]:
    """Return the offer of each of several orders that come together.

    The floor is simulated once with all of them on it, so that they wait for each other as they
    will. Each has its own window: the same times, with its own wait for powder in its end.
    """
    # numpy only where something is forecast
    import numpy as np  # noqa: PLC0415

    from portal.shop.scheduling.idle_hours import without_idle_hours  # noqa: PLC0415

    if not orders:
        return ()
    news = [
        replace(work, job_id=-number, arrives_at=window.end)
        for number, (work, window) in enumerate(orders, 1)
    ]
    whole = simulate_floor(
        (*floor.jobs, *news), floor.stations, floor.week, floor.now, seed=floor.sim.seed, keep=0
    )
    first, week, moment = len(floor.jobs), floor.week, whole.line.moment
    found = []
    for number, ((work, window), news_one) in enumerate(zip(orders, news, strict=True)):
        own = [at for at, lot in enumerate(whole.lots) if lot.job == first + number]
        done = whole.replayed.ready[own].max(axis=0)
        alone = float(np.percentile(done, calibration.percent))
        kind = kind_of(work)
        ahead = max(0.0, whole.line.at(news_one.arrives_at) - whole.sim.now)
        horizon = horizon_of(ahead / minutes_a_day(week.work))
        promised = np.array([alone + calibration.margins.of(kind, horizon)])
        at = moment(float(without_idle_hours(floor, promised)[0]))
        least = max(window.end, week.least_stay_ends(window.start))
        ready = week.pickup_after(max(at, least))
        found.append(Offer(window, ready, at, Foreseen(moment(alone), kind, horizon)))
    return tuple(found)


def stay_days(found: Sequence[Offer], week: Week) -> list[int]:
    """Return the working days from the drop-off of each offer to the day of its pickup."""
    spans = [
        (week.local(one.window.start).date(), week.local(one.ready_at).date()) for one in found
    ]
    first, last = min(comes for comes, _ in spans), max(goes for _, goes in spans)
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    working = [day for day in days if week.is_working_day(day)]
    return [bisect_left(working, goes) - bisect_left(working, comes) for comes, goes in spans]


def bearable(found: Sequence[Offer], week: Week) -> tuple[Offer, ...]:
    """Return the offers whose parts stay no longer in the house than the shop's week allows.

    When the floor is full the early drop-offs are left out: their parts would only be in the way.
    Where even the shortest stay is longer (a slow strip), those with the shortest stay.
    """
    if not found:
        return ()
    stays = stay_days(found, week)
    most = max(week.drop_off.longest_stay_days, min(stays))
    return tuple(one for one, own in zip(found, stays, strict=True) if own <= most)
