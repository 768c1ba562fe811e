"""What-if: the same open jobs on a changed floor, beside today's.

Pure: the same jobs, floor, moment and seed give the same result.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from portal.shop.calendar.week import Week
from portal.shop.route import FIRST, PartStage
from portal.shop.scheduling.forecast import Floor, Forecast, JobWork, read_forecast, simulate_floor
from portal.shop.scheduling.promising import Calibration, offers_on
from portal.shop.scheduling.stations import Stations

SATURDAY, FRIDAY = 5, 4
WINDOWS_AHEAD = 21
NOBODY = 0  # no job has this number
STANDARD = Calibration()


@dataclass(frozen=True, slots=True)
class Idea:
    """What might be changed; empty means unchanged.

    `more_places` gets one place more, `saturday` gives the floor Friday's hours on Saturdays,
    `strip_days` (0 = Monday) are the days on which strip runs leave.
    """

    more_places: PartStage | None = None
    saturday: bool = False
    strip_days: tuple[int, ...] = ()

    @property
    def empty(self) -> bool:
        """Whether nothing would change."""
        return self.more_places is None and not self.saturday and not self.strip_days


@dataclass(frozen=True, slots=True)
class Then:
    """One open job: its promise, and its safe pickup hours before and after."""

    job_id: int
    promise_at: datetime
    before_at: datetime
    after_at: datetime
    late_before: bool
    late_after: bool


@dataclass(frozen=True, slots=True)
class Compared:
    """All open jobs by promise, and the first date that a usual new order would be given."""

    jobs: tuple[Then, ...]
    order_before: datetime | None
    order_after: datetime | None

    @property
    def late_before(self) -> int:
        """How many jobs are more likely late than not today."""
        return sum(one.late_before for one in self.jobs)

    @property
    def late_after(self) -> int:
        """The same with the change."""
        return sum(one.late_after for one in self.jobs)


def with_idea(idea: Idea, stations: Stations, week: Week) -> tuple[Stations, Week]:
    """Return the floor and the week with the change."""
    if idea.more_places is not None:
        station = stations[idea.more_places]
        stations = stations.having(replace(station, places=station.places + 1))
    if idea.saturday and not week.work[SATURDAY]:
        week = replace(week, work=replace(week.work, sat=week.work[FRIDAY]))
    if idea.strip_days:
        week = replace(week, strip_runs=replace(week.strip_runs, days=idea.strip_days))
    return stations, week


def compare(
    idea: Idea,
    jobs: Sequence[JobWork],
    stations: Stations,
    week: Week,
    now: datetime,
    *,
    seed: int,
    calibration: Calibration = STANDARD,
) -> Compared:
    """Forecast the open jobs on both floors, with the same randomness."""
    today = simulate_floor(jobs, stations, week, now, seed=seed)
    changed = simulate_floor(jobs, *with_idea(idea, stations, week), now, seed=seed)
    before, after = read_forecast(today), read_forecast(changed)
    both = [one for one in jobs if one.job_id in before.outlook and one.job_id in after.outlook]
    found = [_then(one, before, after, today.week, changed.week) for one in both]
    found.sort(key=lambda one: (one.promise_at, one.job_id))
    usual = usual_order([one for one in jobs if one.booked], now)
    first = (_first_date(floor, usual, calibration) for floor in (today, changed))
    return Compared(tuple(found), *first)


def usual_order(jobs: Sequence[JobWork], now: datetime) -> JobWork | None:
    """Return an order with as many parts as most open ones have, nothing done to it yet."""
    if not jobs:
        return None
    counts = Counter(len(one.parts) for one in jobs)
    size = max(counts, key=lambda n: (counts[n], -n))
    like = next(one for one in jobs if len(one.parts) == size)
    parts = tuple(replace(part, stage=FIRST, coats_done=0, since=now) for part in like.parts)
    return JobWork(NOBODY, parts, now)


def _then(job: JobWork, before: Forecast, after: Forecast, old: Week, new: Week) -> Then:
    was, will = before.outlook[job.job_id], after.outlook[job.job_id]
    promise = job.promise_at or was.safe_at
    return Then(
        job_id=job.job_id,
        promise_at=promise,
        before_at=old.pickup_after(was.safe_at),
        after_at=new.pickup_after(will.safe_at),
        late_before=old.pickup_after(was.likely_at) > promise,
        late_after=new.pickup_after(will.likely_at) > promise,
    )


def _first_date(floor: Floor, order: JobWork | None, calibration: Calibration) -> datetime | None:
    if order is None:
        return None
    first = floor.week.local(floor.now).date()
    windows = [one for one in floor.week.windows(first, WINDOWS_AHEAD) if one.start > floor.now]
    offers = offers_on(floor, order, windows[:1], calibration)
    return offers[0].ready_at if offers else None
