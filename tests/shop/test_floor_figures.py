"""Forecasts and offers of crowded floors, figure by figure, in `floor_figures.txt`.

What these figures ought to be is held elsewhere: by hand (`test_forecast.py`, `test_promising.py`)
and by another simulation (`test_simulated_shop.py`). Here nothing may move them unnoticed. Where a
rule of the floor changes on purpose, `python -m tests.shop.test_floor_figures` draws them anew.
"""

import json
import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

import pytest

from portal.craft.reading import read
from portal.shop.calendar.hours import DAYS, Hours
from portal.shop.calendar.week import Week
from portal.shop.route import STATIONS, PartStage
from portal.shop.scheduling.floor_record import floor_from, inputs_of, record_of
from portal.shop.scheduling.forecast import Floor, JobWork, PartState, look_ahead, read_forecast
from portal.shop.scheduling.margins import Margins
from portal.shop.scheduling.promising import Calibration, Offer, bearable, offers_on
from portal.shop.scheduling.station import Oven, Stations
from portal.shop.scheduling.stations import Cure
from portal.shop.scheduling.what_if import Idea, compare, usual_order
from tests.shop.figures import kept
from tests.shop.floors import MONDAY, SEED, WEEK, a_floor, a_job, a_work, with_station

FILE = Path(__file__).with_name("floor_figures.txt")
STAGES = (PartStage.EXPECTED, *STATIONS)
POWDERS = ("BLACK", "RED", "CLEAR", "")


def minutes(moment: datetime) -> int:
    return round((moment - MONDAY).total_seconds() / 60)


def a_crowd(seed: int, count: int = 14) -> list[JobWork]:
    """Jobs of every kind, at every stage, drawn by a seed."""
    chance = random.Random(seed)
    found = []
    for number in range(1, count + 1):
        coats = chance.choice((1, 1, 2, 3))
        powders = [chance.choice(POWDERS) for _ in range(coats)]
        cures = tuple(Cure(chance.choice((160, 180, 200)), 15.0, p, 15.0) for p in powders)
        work = a_work(
            coats=coats,
            cures=cures,
            prep=chance.choice((0.0, 8.0, 25.5)),
            blast=chance.choice((6.0, 10.0, 31.0)),
            refit=chance.choice((0.0, 0.0, 12.0)),
            outside_days=chance.choice((0, 0, 0, 2)),
            pre_bake=chance.choice((None, None, (180, 20.0))),
            envelope_mm=chance.choice(((500.0, 500.0, 250.0), (900.0, 700.0, 400.0))),
            mass_kg=chance.choice((10.0, 60.0)),
        )
        stage = chance.choice(STAGES)
        if stage is PartStage.STRIP and not work.outside_days:
            stage = PartStage.PREP
        parts = chance.choice((1, 2, 4, 9))
        late = timedelta(minutes=chance.choice((-3000, -90, 0, 45, 1500)))
        if stage is not PartStage.EXPECTED:
            late = min(late, timedelta(0))
        promise = chance.choice((None, MONDAY + timedelta(days=chance.randint(0, 5), hours=7)))
        job = a_job(number, work, parts=parts, stage=stage, comes=MONDAY + late, promise=promise)
        if chance.random() < 0.3:  # some of its parts are further on, or came back
            more = PartState(work, PartStage.COAT, 0, MONDAY - timedelta(minutes=7), reworks=1)
            job = replace(job, parts=(*job.parts, more))
        found.append(replace(job, rush=chance.random() < 0.15))
    return found


SPREAD = a_floor(0.25, rework_rate=0.1, strip_late_rate=0.2)
TWO = with_station(with_station(SPREAD, PartStage.BLAST, places=2), PartStage.COAT, places=2)
SMALL = a_floor(
    0.1, oven=Oven(size_mm=(1200.0, 900.0, 900.0), heat_up=20, cool_down=10, apart_c=20)
)
DOWN = with_station(
    with_station(SPREAD, PartStage.COAT, down=((MONDAY, MONDAY + timedelta(hours=5)),), pace=1.2),
    PartStage.INSPECT,
    spread=0.0,
)
AFTERNOON = read(Hours, {day: ["13:00-18:00"] for day in DAYS[:5]})
OWN_HOURS = with_station(
    with_station(SPREAD, PartStage.COAT, hours=AFTERNOON, places=2), PartStage.CURE, hours=AFTERNOON
)
FLOORS: dict[str, tuple[int, Stations, int]] = {
    "exact": (1, a_floor(), 0),
    "spread": (2, SPREAD, 0),
    "two places": (3, TWO, 0),
    "small oven": (4, SMALL, 0),
    "a booth that is down": (5, DOWN, 0),
    "stations with hours of their own": (9, OWN_HOURS, 100),
    "at noon": (6, SPREAD, 245),
    "in the evening": (7, SPREAD, 700),
}


def told(name: str) -> Iterator[str]:
    seed, stations, late = FLOORS[name]
    jobs, now = a_crowd(seed), MONDAY + timedelta(minutes=late)
    floor = look_ahead(jobs, stations, WEEK, now, seed=SEED, replications=40, keep=20)
    forecast = read_forecast(floor)
    for job_id, one in sorted(forecast.outlook.items()):
        yield f"job {job_id}: {minutes(one.likely_at)} {minutes(one.safe_at)} {one.station.value}"
    for stage, order in forecast.sequence.items():
        yield f"{stage.value}: {' '.join(map(str, order))}"
    for candidate in candidates(jobs, now):
        found = offered(floor, candidate)
        moments = (f"{minutes(one.raw_at)}>{minutes(one.ready_at)}" for one in found)
        yield f"offers: {' '.join(moments)}"
        yield f"bearable: {len(bearable(found, shorter(WEEK)))}"


def candidates(jobs: list[JobWork], now: datetime) -> list[JobWork]:
    """Return the usual order of a floor, and some of every kind that nobody has brought yet."""
    usual = usual_order(jobs, now)
    assert usual is not None
    drawn = [
        replace(one, job_id=0, promise_at=None)
        for one in a_crowd(31, 60)
        if {part.stage for part in one.parts} == {PartStage.EXPECTED}
    ]
    return [usual, *drawn[:5]]


def offered(floor: Floor, candidate: JobWork) -> tuple[Offer, ...]:
    windows = WEEK.windows(MONDAY.date(), 6)
    return offers_on(floor, candidate, windows, Calibration(80.0, Margins(30.0)))


def shorter(week: Week) -> Week:
    return replace(week, drop_off=replace(week.drop_off, longest_stay_days=1))


def hurried(promise: datetime | None) -> datetime | None:
    return promise and promise - timedelta(days=2)


def ideas() -> Iterator[str]:
    jobs = [replace(one, promise_at=hurried(one.promise_at)) for one in a_crowd(8, 18)]
    for idea in (Idea(PartStage.BLAST), Idea(saturday=True), Idea(strip_days=(0, 2))):
        found = compare(idea, jobs, SPREAD, WEEK, MONDAY, seed=SEED)
        for one in found.jobs:
            moments = (one.promise_at, one.before_at, one.after_at)
            figures = " ".join(str(minutes(each)) for each in moments)
            yield f"{one.job_id}: {figures} {one.late_before:d}{one.late_after:d}"
        orders = (found.order_before, found.order_after)
        first = " ".join(str(minutes(each)) for each in orders if each)
        yield f"late {found.late_before} {found.late_after}, first {first}"


SCENES: dict[str, Callable[[], Iterator[str]]] = {
    **{name: partial(told, name) for name in FLOORS},
    "ideas": ideas,
}


@pytest.mark.parametrize("name", FLOORS)
def test_a_floor_that_was_kept_offers_what_it_offered(name: str) -> None:
    seed, stations, late = FLOORS[name]
    jobs, now = a_crowd(seed), MONDAY + timedelta(minutes=late)
    floor = look_ahead(jobs, stations, WEEK, now, seed=SEED, replications=40, keep=20)
    inputs = json.loads(json.dumps(inputs_of(floor)))
    # what was learned since the documents were written is kept with the floor
    again = floor_from(record_of(floor), inputs, a_floor(oven=stations.oven).having(
        *(replace(one, pace=1.0, spread=0.5) for one in stations.by_key)
    ), WEEK)  # fmt: skip
    assert (again.now, again.stations) == (now, stations)
    for candidate in candidates(jobs, now):
        assert offered(again, candidate) == offered(floor, candidate)


@pytest.mark.parametrize("name", SCENES)
def test_the_figures_of_crowded_floors(name: str) -> None:
    assert list(SCENES[name]()) == kept(FILE)[name]
