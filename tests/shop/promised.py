"""Candidates and queues, and what they are promised, for tests of the promise."""

from datetime import datetime, timedelta

from portal.shop.calendar.week import Week, Window
from portal.shop.route import PartStage
from portal.shop.scheduling.forecast import JobWork
from portal.shop.scheduling.margins import Margins
from portal.shop.scheduling.promising import Calibration, Offer, offers
from portal.shop.scheduling.station import Stations
from tests.shop.floors import MONDAY, SEED, WEEK, a_floor, a_job, a_work, after

PLAIN = a_floor(colour_change=0.0)  # what is in the booth at the start is not known
SPREAD = a_floor(0.25, rework_rate=0.04, strip_late_rate=0.05)
ONE_PART = 8 + 10 + 9 + (30 + 15) + 15 + 4  # prep, blast, coat, oven, cooling, look
CANDIDATE = 0


def promised(
    candidate: JobWork,
    *jobs: JobWork,
    windows: tuple[Window, ...] | None = None,
    stations: Stations = PLAIN,
    week: Week = WEEK,
    now: datetime = MONDAY,
    margin: float = 0.0,
    seed: int = SEED,
) -> tuple[Offer, ...]:
    if windows is None:
        windows = week.windows(MONDAY.date(), 5)
    found = offers(
        candidate,
        windows,
        jobs,
        stations,
        week,
        now,
        seed=seed,
        calibration=Calibration(margins=Margins(margin, kinds={})),
    )
    assert [one.window for one in found] == list(windows)
    return found


def one(parts: int = 1, **over: object) -> JobWork:
    return a_job(CANDIDATE, a_work(**over), parts=parts, stage=PartStage.PREP)


def a_queue(length: int, parts: int = 2, **over: object) -> list[JobWork]:
    """Jobs that came before Monday, in the order of their numbers."""
    friday = MONDAY - timedelta(days=2, hours=23)
    return [
        a_job(n, a_work(**over), parts=parts, stage=PartStage.PREP, comes=after(n, friday))
        for n in range(1, length + 1)
    ]
