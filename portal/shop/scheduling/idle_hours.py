"""The hours of the day in which nothing gets done, so that no promise ends in them.

Where the booth works in the afternoon alone, what isn't done in the evening isn't done next morning
either: the evening is as safe a promise, and the earlier one. Which hours these are is seen from
the looks that the simulated floor takes at finished parts. A change of the clock shifts them by
an hour for the weeks that lie between.
"""

import numpy as np

from portal.shop.calendar.working_minutes import WorkingTime, minutes_a_week
from portal.shop.route import INSPECTION
from portal.shop.scheduling.forecast import Floor
from portal.shop.scheduling.sim_inputs import Array

A_DAY, QUARTER = 24 * 60, 15
QUARTERS = A_DAY // QUARTER
COLUMNS = 10  # replications that are looked at
ENOUGH = 20  # looks on the floor before its day counts as known
RARE = 0.15  # of an even share: a quarter of an hour with fewer looks around it is idle
AROUND = 2  # quarters before and after it that count with it


def without_idle_hours(floor: Floor, promised: Array) -> Array:
    """Return promised moments, on the floor's line, each before the idle hours in which it lies."""
    idle = _idle_quarters(floor)
    if idle is None:
        return promised
    # how far back each quarter's idle hours began, from its own start
    back = np.zeros(QUARTERS)
    for n in range(QUARTERS):
        back[n] = back[n - 1] + QUARTER if n and idle[n - 1] else 0.0
    clock, quarter = _clock(floor.line, promised), _quarters(floor.line, promised)
    began = clock - clock % QUARTER - back[quarter]
    # before the day opens that is the close of the day before
    earlier = np.array([floor.line.at_minutes(float(at)) for at in began])
    return np.where(idle[quarter], np.minimum(promised, earlier), promised)


def _idle_quarters(floor: Floor) -> Array | None:
    """Return which quarters of an hour of the day are idle; None where too little is known."""
    looks = floor.placing.starts(INSPECTION, COLUMNS)
    if len(looks) < ENOUGH * COLUMNS:
        return None
    # each quarter in which the floor works in the week to come, as often as it does
    week = floor.sim.now + np.arange(QUARTER / 2, minutes_a_week(floor.week.work), QUARTER)
    width = np.ones(1 + 2 * AROUND)
    looked, worked = (
        np.bincount(_quarters(floor.line, at), minlength=QUARTERS) for at in (looks, week)
    )
    near, even = (np.convolve(found, width, mode="same") for found in (looked, worked))
    # a quarter in which the floor is closed is nobody's promise
    idle: Array = (near < RARE * len(looks) * even / len(week)) & (worked > 0)
    return idle


def _quarters(line: WorkingTime, at: Array) -> Array:
    """Return in which quarter of an hour of the day moments of the line lie."""
    quarters: Array = (_clock(line, at) % A_DAY // QUARTER).astype(int)
    return quarters


def _clock(line: WorkingTime, at: Array) -> Array:
    """Return moments of the line in minutes of the clock."""
    before = np.array(line.before)
    span = np.maximum(np.searchsorted(before, at - 1e-9) - 1, 0)
    clock: Array = np.array(line.starts)[span] + at - before[span]
    return clock
