"""What a shop learns from its record, line by line, in `learning_figures.txt`: margins of promises
and who is still expected. What they ought to be is held by `test_margins` and
`test_expected_bookings`. `tests.shop.figures` draws the file anew.
"""

import random
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from portal.shop.scheduling.expected_bookings import ExpectedBookings, PastBooking, with_prior
from portal.shop.scheduling.margins import Margins, PastPromise, learn_margins
from portal.shop.states import Horizon, OrderKind
from tests.shop.figures import kept
from tests.shop.floors import MONDAY, WEEK, a_floor, a_week, a_work
from tests.shop.test_appraisal_figures import plain
from tests.shop.test_floor_figures import OWN_HOURS, minutes

FILE = Path(__file__).with_name("learning_figures.txt")


def margins() -> Iterator[str]:
    for seed, count in enumerate((0, 1, 2, 7, 40, 200, 900)):
        chance = random.Random(seed)
        record = [
            PastPromise(
                chance.choice([*OrderKind]),
                chance.choice([*Horizon]),
                chance.gauss(60, 200),
                MONDAY - timedelta(hours=chance.uniform(0, 3000)),
            )
            for _ in range(count)
        ]
        record.sort(key=lambda one: one.at)
        for percent in (80, 95):
            found = learn_margins(record, percent, MONDAY)
            yield f"{count} {percent} {plain(found)}"
            yield " ".join(f"{found.of(k, h):.4g}" for k in OrderKind for h in Horizon)
    for whole in (-9e9, 9e9):
        yield f"{Margins(whole).of(OrderKind.SET, Horizon.NEAR)}"


def expected() -> Iterator[str]:
    for seed in range(6):
        chance = random.Random(seed)
        record = [
            PastBooking(
                (a_work(),) * chance.choice((1, 2, 4)),
                MONDAY + timedelta(minutes=30 * chance.randint(-600, -1)),
                timedelta(hours=chance.choice((0, 3, 30, 200))),
                chance.choice((0.3, 1.0, 1.7)),
                chance.random() < 0.3,
            )
            for _ in range(12)
        ]
        found = ExpectedBookings(record, a_week() if seed % 2 else WEEK)
        for early in (0, 2):
            now = MONDAY + timedelta(days=early, hours=3)
            for job in found.jobs(now, MONDAY + timedelta(days=9)):
                yield (
                    f"{job.job_id} {minutes(job.arrives_at)} {len(job.parts)} {job.rush:d}"
                    f"{job.booked:d} {plain(job.promise_at)} {minutes(job.parts[0].since)}"
                )


def prior() -> Iterator[str]:
    for stations in (a_floor(), OWN_HOURS):
        for weeks in (0.0, 5.0):
            found = with_prior((), weeks, stations, WEEK)
            for one in found[:: 5 if weeks else 1]:
                hours = minutes(one.comes_at) / 60
                yield f"{hours:g} {one.ahead} {one.weekly:.5g} {len(one.works)} {one.rush:d}"
        yield from sorted({plain(one.works[0]) for one in found})


SCENES: dict[str, Callable[[], Iterator[str]]] = {
    one.__name__: one for one in (margins, expected, prior)
}


@pytest.mark.parametrize("name", SCENES)
def test_what_is_learned(name: str) -> None:
    assert list(SCENES[name]()) == kept(FILE)[name]
