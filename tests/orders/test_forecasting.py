"""The forecast wired to the floor: which jobs it sees, what it offers, what it keeps and tells."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest
import sqlalchemy as sa

from portal.craft.declared import read_declared
from portal.craft.parts import Declared
from portal.orders.counter import cancellation
from portal.orders.office import documents
from portal.orders.office.stations import stop_station
from portal.orders.planning.forecasting import open_jobs
from portal.orders.planning.free_times import NOTICE, free_times
from portal.orders.planning.stored_floor import floor_key
from portal.orders.production import floor
from portal.shop.assessment.assess import assess
from portal.shop.calendar.week import Window
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.scheduling.forecast import JobWork
from portal.shop.scheduling.promising import Offer
from portal.shop.states import Arrival
from portal.store.tables import Booking, Job, Part
from tests.factories import (
    PAINTED,
    TWO_COATS,
    WHEELS,
    Booked,
    a_booked_job,
    a_job_at,
    a_job_in_work,
)

NONE_LEFT = {**WHEELS["finish"], "colour": "R1003-G", "gloss": "gloss"}  # six days to buy


def last_event_id(unit) -> dict[int, JobWork]:
    with unit.read() as session:
        return {one.job_id: one for one in open_jobs(session)}


def order(**over) -> Declared:
    return read_declared({"sets": [{**WHEELS, **over}], "bringing": "bare"})


def row_of(unit, job: Booked) -> Job:
    with unit.read() as session:
        return session.scalars(sa.select(Job).where(Job.id == job.job_id)).one()


def change(unit, table, number: int, **values) -> None:
    unit.write(lambda s: s.execute(sa.update(table).where(table.id == number).values(**values)))


def key_of(unit) -> object:
    with unit.read() as session:
        return floor_key(session)


# what the forecast sees


def test_a_booked_job_waits_for_its_drop_off_and_a_received_one_is_here(unit):
    booked = a_booked_job(unit, dropoff=timedelta(days=3))
    here = a_job_in_work(unit)
    jobs = last_event_id(unit)
    assert set(jobs) == {booked.job_id, here.job_id}
    assert jobs[booked.job_id].arrives_at == row_of(unit, booked).dropoff_at
    assert jobs[here.job_id].arrives_at == unit.now()
    assert {part.stage for part in jobs[booked.job_id].parts} == {PartStage.EXPECTED}
    assert len(jobs[here.job_id].parts) == 4


def test_each_part_stands_where_the_floor_has_brought_it(unit, clock):
    job = a_job_at(unit, PartStage.COAT, TWO_COATS)
    clock.advance(hours=1)
    first, *rest = job.part_ids
    floor.move_on(unit, (first,), to=PartStage.CURE, who=None)
    parts = last_event_id(unit)[job.job_id].parts
    assert [part.stage for part in parts] == [PartStage.CURE] + [PartStage.COAT] * len(rest)
    assert [part.coats_done for part in parts] == [0, 0, 0, 0]
    assert parts[0].since == clock.now()
    assert parts[1].since == clock.now() - timedelta(hours=1)
    assert all(len(part.work.coat) == 2 for part in parts)


def test_a_second_coat_counts_the_one_that_is_done(unit):
    job = a_job_at(unit, PartStage.CURE, TWO_COATS)
    change(unit, Part, job.part_ids[0], stage=PartStage.COAT, coats_done=1)
    parts = last_event_id(unit)[job.job_id].parts
    assert (parts[0].stage, parts[0].coats_done) == (PartStage.COAT, 1)


def test_a_part_that_did_not_come_or_goes_home_undone_is_left_out(unit):
    job = a_booked_job(unit)
    change(unit, Part, job.part_ids[0], arrived=Arrival.MISSING)
    change(unit, Part, job.part_ids[1], arrived=Arrival.TURNED_AWAY)
    assert len(last_event_id(unit)[job.job_id].parts) == 2
    for part_id in job.part_ids[2:]:
        change(unit, Part, part_id, arrived=Arrival.MISSING)
    assert last_event_id(unit) == {}


def test_the_forecast_knows_who_pays_for_going_first(unit):
    job, other = a_booked_job(unit), a_booked_job(unit)
    change(unit, Job, job.job_id, rush=True)
    assert (last_event_id(unit)[job.job_id].rush, last_event_id(unit)[other.job_id].rush) == (
        True,
        False,
    )
    now = unit.now()
    stop_station(unit, PartStage.BLAST, now, now + timedelta(days=2), who=None)
    for n in range(9):
        a_job_in_work(unit, first_tag=101 + 10 * n)
    usual, first = (offers(unit, replace(order(), rush=rush)) for rush in (False, True))
    assert first[0].raw_at < usual[0].raw_at - timedelta(hours=2)
    assert all(a.ready_at <= b.ready_at for a, b in zip(first, usual, strict=True))


@pytest.mark.parametrize(
    "over", [JobState.READY, JobState.HANDED_BACK, JobState.CALLED_OFF, JobState.NOT_BROUGHT]
)
def test_a_job_that_is_over_is_not_forecast(unit, over):
    job = a_booked_job(unit)
    change(unit, Job, job.job_id, state=over)
    assert last_event_id(unit) == {}


def test_the_key_of_the_floor_changes_with_every_event_booking_and_edition(unit, clock):
    keys = [key_of(unit)]
    job = a_job_in_work(unit)
    keys.append(key_of(unit))
    assert key_of(unit) == keys[-1]  # looking changes nothing
    floor.move_on(unit, job.part_ids[:1], to=PartStage.BLAST, who=None)
    keys.append(key_of(unit))
    cancellation.call_off(unit, a_booked_job(unit).job_id, "Sold the car", who=None)
    keys.append(key_of(unit))
    start = clock.now() + timedelta(days=1)
    unit.write(lambda s: s.add(Booking(window_start=start, place=1, job_id=job.job_id)))
    keys.append(key_of(unit))
    stop_station(unit, PartStage.BLAST, clock.now(), clock.now() + timedelta(hours=4), who=None)
    keys.append(key_of(unit))
    body = {**documents.document(unit, "week").body, "half_days": []}
    documents.put_document(
        unit, "week", body, expected_edition_id=documents.newest(unit, "week"), who=None
    )
    keys.append(key_of(unit))
    assert len(set(keys)) == len(keys)


# what is offered


def offers(unit, declared) -> tuple[Offer, ...]:
    times = free_times(unit)
    return times.offers(assess(declared, times.shop, times.shop.day(times.now)))


def offered(unit, **over) -> tuple[Offer, ...]:
    found = offers(unit, order(**over))
    assert found
    return found


@pytest.mark.parametrize("longest", [1, 3, 15])
@pytest.mark.parametrize("jobs", [0, 6])
def test_one_time_alone_has_the_date_that_it_has_among_all(unit, jobs, longest):
    for n in range(jobs):
        a_job_in_work(unit, first_tag=101 + 10 * n)
    times = free_times(unit)
    week = times.shop.week
    week = replace(week, drop_off=replace(week.drop_off, longest_stay_days=longest))
    times = replace(times, shop=replace(times.shop, week=week))
    asked = assess(order(), times.shop, times.shop.day(times.now))
    every = {one.window.start: one for one in times.offers(asked)}
    assert times.offer(asked) == next(iter(every.values()))
    for window in times.windows[::7]:
        assert times.offer(asked, window.start) == every.get(window.start)


def test_windows_are_offered_with_notice_and_each_leads_to_an_open_hour_after_it(unit, clock):
    found = offered(unit)
    assert all(one.window.start >= clock.now() + NOTICE for one in found)
    # Monday nine o'clock in the shop: the morning is too near, the afternoon's first is at four
    assert found[0].window.start == datetime(2026, 6, 1, 15, 0, tzinfo=UTC)
    with unit.read() as session:
        week = unit.shop(session).week
    for one in found:
        assert week.shut_because(week.local(one.window.start).date()) is None
        assert one.ready_at > one.window.end
        assert week.pickup_after(one.ready_at) == one.ready_at


def test_a_window_that_is_only_just_far_enough_is_offered(unit, clock):
    start = datetime(2026, 6, 1, 15, 0, tzinfo=UTC)
    clock.set(start - NOTICE)
    assert offered(unit)[0].window.start == start
    clock.advance(minutes=1)
    assert offered(unit)[0].window.start == start + timedelta(minutes=30)


def book(unit, window: Window) -> list[Booked]:
    """Take every place of a window."""
    jobs = [a_booked_job(unit) for _ in range(window.places)]

    def take(session) -> None:
        for place, one in enumerate(jobs, 1):
            session.add(Booking(window_start=window.start, place=place, job_id=one.job_id))

    unit.write(take)
    return jobs


def test_a_full_window_is_not_offered_and_one_with_a_place_left_is(unit):
    first, second = (one.window for one in offered(unit)[:2])
    book(unit, first)
    book(unit, replace(second, places=second.places - 1))
    assert offered(unit)[0].window == second


def test_a_job_that_is_called_off_leaves_its_drop_off_place_to_others(unit):
    first = offered(unit)[0].window
    jobs = book(unit, first)
    assert offered(unit)[0].window != first
    cancellation.call_off(unit, jobs[0].job_id, "Sold the car", who=None)
    assert offered(unit)[0].window == first


def test_a_later_window_never_leads_to_an_earlier_date(unit):
    for n in range(3):
        a_job_in_work(unit, first_tag=101 + 10 * n)
    for over in (
        {},
        {"layers": ["factory_paint"]},
        {"finish": NONE_LEFT},
        {"layers": ["factory_paint"], "finish": NONE_LEFT},
    ):
        found = offered(unit, **over)
        assert len(found) > 20
        assert all(a.raw_at <= b.raw_at for a, b in pairwise(found)), over
        assert all(a.ready_at <= b.ready_at for a, b in pairwise(found)), over


def test_more_wheels_and_more_work_before_them_are_never_offered_earlier(unit):
    four, one = offered(unit), offered(unit, count=1)
    assert all(a.ready_at >= b.ready_at for a, b in zip(four, one, strict=True))
    for n in range(4):
        a_job_in_work(unit, first_tag=101 + 10 * n)
    busy = offered(unit)
    # other oven loads may come about, and lead to a moment that is minutes earlier
    few = timedelta(minutes=30)
    assert all(a.raw_at >= b.raw_at - few for a, b in zip(busy, four, strict=True))


def test_the_same_floor_offers_the_same_dates(unit):
    a_job_in_work(unit)
    assert offered(unit) == offered(unit)


def test_an_old_finish_that_leaves_the_house_takes_as_long_as_the_strip_run(unit):
    bare, painted = offered(unit)[0], offered(unit, layers=PAINTED["layers"])[0]
    # Monday afternoon: the run of Tuesday ten o'clock is back on Thursday at three
    assert bare.ready_at < datetime(2026, 6, 4, 14, 0, tzinfo=UTC) < painted.ready_at


def test_powder_that_must_be_bought_puts_off_what_would_be_done_without_it(unit, clock):
    here, bought = offered(unit), offered(unit, finish=NONE_LEFT)
    with unit.read() as session:
        week = unit.shop(session).week
    # six working days from Monday: the powder comes on the Tuesday of next week
    powder_day = week.working_days_after(week.local(clock.now()).date(), 6)
    assert powder_day == date(2026, 6, 9)
    days = {day: [] for day in ("before", "same", "after")}
    for a, b in zip(here, bought, strict=True):
        assert a.window == b.window
        day = week.local(a.window.start).date()
        days["before" if day < powder_day else "same" if day == powder_day else "after"].append(
            (a, b)
        )
    assert all(days.values())
    for a, b in days["before"]:
        # all the work lies behind the powder's day: it may come at any hour of it
        assert week.local(b.raw_at).date() > powder_day
        assert b.raw_at > a.raw_at
    assert all(b.raw_at >= a.raw_at for a, b in days["same"])
    assert all(b == a for a, b in days["after"])


def test_a_station_that_is_stopped_puts_the_dates_off(unit, clock):
    before = offered(unit)[0]
    stop_station(unit, PartStage.BLAST, clock.now(), clock.now() + timedelta(days=3), who=None)
    after = offered(unit)[0]
    assert after.window == before.window
    assert after.ready_at >= clock.now() + timedelta(days=3) > before.ready_at
