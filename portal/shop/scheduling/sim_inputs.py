"""Inputs of a replay: randomness, strip runs and own hours on the working-time axis."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from portal.shop.calendar.week import Week
from portal.shop.calendar.working_minutes import working_time
from portal.shop.route import PartStage
from portal.shop.scheduling.lots import Lot, Op
from portal.shop.scheduling.station import Station, Stations

Array = npt.NDArray[Any]
ROWS = 4096  # rows of chance; a lot's stream picks its own
# the chance of at most 0, 1, 2 … jobs where one is expected
AT_MOST = np.exp(-1.0) * np.cumsum([1 / math.factorial(n) for n in range(6)])
SWING = 0.7  # of what the number of expected jobs deviates by; chosen on seeds from 101
WEEKDAYS = (0, 1, 2, 3, 4, 5, 6)


@lru_cache(maxsize=4)
def chance(seed: int, replications: int) -> tuple[Array, Array]:
    """Return standard normal and uniform rows, the same for the same seed."""
    rng = np.random.default_rng(seed)
    normal = rng.standard_normal((ROWS, replications), dtype=np.float32)
    uniform = rng.random((ROWS, replications), dtype=np.float32)
    return normal, uniform


def row(stream: int, visit: int) -> int:
    """Return the random row of a lot's visit."""
    return (stream + visit * 997) % ROWS


@dataclass(frozen=True, slots=True)
class Runs:
    """Strip runs on the working-time axis: cut-off, return, return one working day late."""

    cuts: tuple[float, ...]
    cut: Array
    back: Array
    late: Array

    def back_from(self, ready: Array, slow: Array) -> Array:
        """Return when parts ready at `ready` are back; `slow` (runs × replications) are late."""
        run = np.minimum(np.searchsorted(self.cut, ready), len(self.cut) - 1)
        late = slow[run % len(slow), np.arange(ready.shape[-1])]
        return np.where(late, self.late[run], self.back[run])

    def still_to_come(self, back: Array, now: float) -> Array:
        """Return `back`, or the day after, where that moment has passed without a return."""
        after = np.minimum(np.searchsorted(self.late, now, side="right"), len(self.late) - 1)
        return np.where(back > now, back, max(float(self.late[after]), now))


@dataclass(frozen=True, slots=True)
class OwnTime:
    """A station's own hours: floor minutes against the station's open minutes."""

    floor: Array
    own: Array
    starts: tuple[float, ...]
    ends: tuple[float, ...]
    before: tuple[float, ...]

    def opens(self, at: float) -> float:
        """Return when the station works again, `at` itself while it does."""
        n = bisect_right(self.ends, at)
        return at if n == len(self.ends) else max(at, self.starts[n])

    def one(self, start: float, minutes: float) -> float:
        """Return when `minutes` of the station's own time after one `start` have passed."""
        n = bisect_right(self.ends, start)
        if n == len(self.ends):
            return start + minutes
        goal = self.before[n] + max(0.0, start - self.starts[n]) + minutes
        n = max(n, bisect_left(self.before, goal) - 1)
        return self.starts[n] + goal - self.before[n]

    def add(self, start: Array, minutes: Array | float) -> Array:
        """Return when `minutes` of the station's own time after `start` have passed."""
        return self.moments(self.worked(start) + minutes)

    def worked(self, at: Array) -> Array:
        """Return the station's own minutes up to moments of the floor's axis."""
        return np.interp(at, self.floor, self.own)

    def moments(self, worked: Array) -> Array:
        """Return when its own minutes are reached; at a closing, when it opens again."""
        return np.interp(worked, self.own, self.floor)


@dataclass(frozen=True, slots=True)
class SimInputs:
    """Inputs of a replay: stations, strip runs by days away, own hours, now, and randomness."""

    stations: Stations
    runs: "RunsByDays"
    own: dict[PartStage, OwnTime]
    now: float
    seed: int
    replications: int

    def factors(self, rows: Array, spreads: Array) -> Array:
        """Return factors on mean times: log-normal, mean 1, `spreads` their deviation."""
        normal, _ = chance(self.seed, self.replications)
        sigma2 = np.log1p(spreads.astype(np.float32) ** 2)[:, None]
        shape = normal[rows]
        shape *= np.sqrt(sigma2)
        shape -= sigma2 / 2
        return np.exp(shape, out=shape)

    def multiples(self, lots: Sequence[Lot]) -> Array:
        """Return how many jobs each expected one counts for, lots × replications: 1 in the mean.

        How many come is Poisson. A replay takes them all where the one stood in the nominal order,
        the floor orders them anew and swings less, so a part of the deviation counts. All lots of
        a job share the number.
        """
        _, uniform = chance(self.seed, self.replications)
        come = np.searchsorted(AT_MOST, uniform[[row(lot.group, 0) for lot in lots]])
        return 1 + SWING * (come - 1)

    def slow_runs(self) -> Array:
        """Return which strip runs are late in which replication."""
        _, uniform = chance(self.seed, self.replications)
        late: Array = uniform[:512] < self.stations.strip_late_rate
        return late

    def after_inspection(self, lot: Lot, done: Array) -> Array:
        """Return when a lot has passed inspection, one part of it perhaps at the second try.

        A part that comes back goes first everywhere, so it waits for nobody, but stations may be
        closed, and the oven is running half of the time. The same number draws whether it comes
        back and which way it goes.
        """
        _, uniform = chance(self.seed, self.replications)
        drawn = uniform[row(lot.stream, 0), : done.shape[-1]]
        often = 1 - (1 - self.stations.rework_rate) ** lot.parts
        if not (drawn < often).any():
            return done
        passed = done.copy()
        below = 0.0
        for way in lot.redo:
            up_to = below + often * way.share
            (back,) = ((below <= drawn) & (drawn < up_to)).nonzero()
            if len(back):
                passed[..., back] = self._again(way.ops, done[..., back], back)
            below = up_to
        return passed

    def _again(self, ops: Sequence[Op], at: Array, back: Array) -> Array:
        """Return when parts that came back at `at` in the replications `back` have passed."""
        for op in ops:
            if op.station.leaves_the_house:
                at = self.runs[op.outside_days].back_from(at, self.slow_runs()[:, back])
                continue
            minutes = op.minutes * (1.5 if op.station.is_batch else 1.0)
            hours = self.own.get(op.station)
            at = (at + minutes if hours is None else hours.add(at, minutes)) + op.after
        return at

    def opens(self, key: PartStage, at: float) -> float:
        """Return when a station works again, `at` itself while it does."""
        hours = self.own.get(key)
        return at if hours is None else hours.opens(at)

    def stretch(self, key: PartStage) -> float:
        """Return how many minutes of the floor's time one minute of the station's takes."""
        hours = self.own.get(key)
        return 1.0 if hours is None else float(hours.floor[-1] / hours.own[-1])

    def through(self, key: PartStage, start: float, minutes: float) -> float:
        """Return when a service ends that pauses while its station is closed."""
        hours = self.own.get(key)
        return start + minutes if hours is None else hours.one(start, minutes)

    def worked(self, key: PartStage, begun: float, until: float) -> float:
        """Return how long a station was open between two moments."""
        hours = self.own.get(key)
        if hours is None:
            return until - begun
        return float(np.subtract(*np.interp((until, begun), hours.floor, hours.own)))

    def away(self, ready: float, op: Op, lot: Lot) -> float:
        """Return when a lot is back from the outside strip in the nominal run."""
        runs = self.runs[op.outside_days]
        gone = lot.here and lot.ops[0] is op
        run = min(bisect_left(runs.cuts, lot.since if gone else ready), len(runs.cuts) - 1)
        back = float(runs.back[run])
        return float(runs.still_to_come(np.array(back), self.now)) if gone else back


class RunsByDays:
    """The strip runs for parts that stay away a number of working days."""

    def __init__(self, week: Week, span: tuple[date, int]) -> None:
        self._week, self.span = week, span
        self._by_days: dict[int, Runs] = {}

    def __getitem__(self, outside_days: int) -> Runs:
        """Return the runs for parts that are away at least `outside_days` working days."""
        if outside_days not in self._by_days:
            self._by_days[outside_days] = laid_out(self._week, self.span, outside_days)
        return self._by_days[outside_days]


@lru_cache(maxsize=32)
def laid_out(week: Week, span: tuple[date, int], outside_days: int) -> Runs:
    """Return the strip runs of a span on its axis, for parts that stay away so many days."""
    # a shop without fixed days sends something out whenever it works
    days = week.strip_runs.days or WEEKDAYS
    stay = max(outside_days, week.strip_runs.back_after_days)
    own = replace(week, strip_runs=replace(week.strip_runs, days=days, back_after_days=stay))
    runs = list(own.runs(*span))
    at = working_time(week, *span).at
    late = [
        week.moment(week.working_days_after(one.back_on, 1), week.strip_runs.back_at)
        for one in runs
    ]
    cuts = [at(one.cut_off_at) for one in runs]
    backs = [at(one.back_at) for one in runs]
    return Runs(
        tuple(cuts),
        np.array(cuts),
        np.array(backs),
        np.array([at(one) for one in late]),
    )


@lru_cache(maxsize=32)
def own_time(station: Station, week: Week, span: tuple[date, int]) -> OwnTime:
    """Return a station's own hours, less the time it is out of order."""
    line = working_time(week, *span)
    own = working_time(week, *span, station.hours, station.down)
    points = [(0.0, 0.0)]
    for start, end, before in zip(own.starts, own.ends, own.before, strict=True):
        points.append((line.at_minutes(start), before))
        points.append((line.at_minutes(end), before + end - start))
    floor, opened = zip(*points, strict=True)
    starts = tuple(line.at_minutes(one) for one in own.starts)
    ends = tuple(line.at_minutes(one) for one in own.ends)
    return OwnTime(np.array(floor), np.array(opened), starts, ends, own.before)
