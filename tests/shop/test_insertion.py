"""A candidate's way through the floor: where it queues, and what it makes late itself.

The sums are done by hand; a job that is booked and comes alone is forecast to the same minute.
"""

from dataclasses import replace

from portal.craft.reading import read
from portal.shop.calendar.hours import DAYS, Hours
from portal.shop.route import PartStage
from portal.shop.scheduling.forecast import JobWork
from portal.shop.scheduling.station import Stations
from tests.shop.floors import MONDAY, WEEK, a_job, a_work, after, seen, with_station
from tests.shop.promised import CANDIDATE, PLAIN, a_queue, one, promised

FIRST = WEEK.windows(MONDAY.date(), 1)[:1]  # brought by half past eight
BROUGHT = 30


def done(candidate: JobWork, *jobs: JobWork, stations: Stations = PLAIN) -> float:
    """Minutes after eight on Monday."""
    raw = promised(candidate, *jobs, windows=FIRST, stations=stations)[0].raw_at
    return (raw - MONDAY).total_seconds() / 60


def test_who_waits_for_a_station_to_open_waits_in_the_order_of_turns():
    afternoon = read(Hours, {day: ["13:00-18:00"] for day in DAYS[:5]})
    floor = with_station(PLAIN, PartStage.COAT, hours=afternoon)
    # two jobs of four parts came on Friday and stand at the booth; it opens five hours after eight
    before = [
        replace(a_job(n, parts=4, stage=PartStage.COAT), arrives_at=job.arrives_at)
        for n, job in enumerate(a_queue(2), 1)
    ]
    behind_both = 300 + 2 * 4 * 9 + 9
    # the oven takes the second job and the candidate together; then they are looked at in turn
    assert done(one(), *before, stations=floor) == behind_both + 45 + 15 + 4 * 4 + 4
    # behind one of them alone it waits for the oven that has just been filled
    assert done(one(), *before[:1], stations=floor) == 300 + 4 * 9 + 2 * 45 + 15 + 4


def test_a_lot_does_not_wait_for_the_second_coat_of_the_one_before_it():
    # twelve parts hang six by six: prep 48, blast 60, each coat 54, oven 45, cooling 15, look 24
    first_blast = 48 + 60
    first_coats = first_blast + 54 + 60  # the other lot is being coated meanwhile
    second_coats = first_coats + 54 + 6  # the first lot's second, then the other is cool
    alone = second_coats + 54 + 60 + 24
    assert done(one(12, coats=2)) == BROUGHT + alone
    booked = a_job(CANDIDATE, a_work(coats=2), parts=12, comes=FIRST[0].end)
    safe = seen(booked, stations=PLAIN).outlook[CANDIDATE].safe_at
    assert safe == after(BROUGHT + alone)


def test_whom_its_first_lot_overtook_its_second_lot_overtakes_too():
    # the first of three with much more work has been in the blast since Friday: a rest of fifteen
    # minutes is left; the next is taken at 8:15, when the candidate is not there yet
    friday = a_queue(1)[0].arrives_at
    blast = a_work(prep=500.0, blast=100.0, coat=(), cures=())
    others = [
        a_job(n, blast, stage=PartStage.BLAST, comes=friday if n == 1 else MONDAY)
        for n in (1, 2, 3, 4)
    ]
    # its lots at 9:55 and 10:55
    second_lot = 15 + 100 + 2 * 60
    assert done(one(12), *others) == second_lot + 54 + 45 + 15 + 24
