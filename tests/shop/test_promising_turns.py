"""Who is promised what: a full floor, a least stay, a rush, stations with hours of their own.

The sums are done by hand; that nothing is sold which the floor doesn't bear is the shop's own rule.
"""

from dataclasses import replace
from datetime import timedelta

from portal.craft.reading import read
from portal.shop.calendar.hours import DAYS, Hours
from portal.shop.calendar.week import Window
from portal.shop.route import PartStage
from portal.shop.scheduling.forecast import JobWork, PartState
from portal.shop.scheduling.lots import standard_work
from portal.shop.scheduling.promising import Offer, bearable
from tests.shop.floors import EXACT, MONDAY, WEEK, a_job, a_week, a_work, after, seen, with_station
from tests.shop.promised import ONE_PART, PLAIN, SPREAD, a_queue, one, promised

# what the floor bears


def stayed(offer: Offer) -> int:
    days = (offer.window.start + timedelta(days=n) for n in range(60))
    span = (day for day in days if day.date() < offer.ready_at.date())
    return sum(WEEK.is_working_day(day.date()) for day in span)


def test_when_the_floor_is_full_early_drop_offs_are_not_offered():
    full = a_queue(60, parts=4, blast=60.0)  # twenty-four days of blasting
    short = a_week(drop_off={"mon": ["08:00-10:00"], "longest_stay_days": 10})
    windows = short.windows(MONDAY.date(), 42)
    found = promised(one(4, blast=60.0), *full, windows=windows)
    left = bearable(found, short)
    assert left
    assert left == tuple(offer for offer in found if stayed(offer) <= 10)
    assert left[0].window.start > found[0].window.start + timedelta(days=13)


def test_nothing_is_promised_before_the_least_stay_is_over():
    hours = {"mon": ["08:00-10:00"], "fri": ["08:00-09:00"]}
    free = a_week(drop_off=hours)
    night = a_week(drop_off={**hours, "least_stay_days": 1})
    week = free.windows(MONDAY.date(), 5)
    same_day = promised(one(), windows=week, week=free)
    assert all(offer.ready_at.date() == offer.window.start.date() for offer in same_day)
    later = promised(one(), windows=week, week=night)
    assert [offer.raw_at for offer in later] == [offer.raw_at for offer in same_day]
    # Monday's parts on Tuesday at the opening, Friday's on the next Monday
    assert {after_days(offer) for offer in later} == {1, 3}
    assert {offer.ready_at.hour for offer in later} == {8}
    slow = promised(one(blast=1_500.0), windows=week, week=night)
    assert slow == promised(one(blast=1_500.0), windows=week, week=free)


def after_days(offer: Offer) -> int:
    return (offer.ready_at.date() - offer.window.start.date()).days


def test_when_every_stay_is_long_the_shortest_is_still_offered():
    short = a_week(drop_off={"mon": ["08:00-10:00"], "longest_stay_days": 1})
    found = promised(one(outside_days=8), windows=short.windows(MONDAY.date(), 14))
    left = bearable(found, short)
    assert {stayed(offer) for offer in left} == {min(stayed(offer) for offer in found)}
    assert bearable((), short) == ()


# a rush


def test_a_rush_is_promised_earlier_and_only_behind_what_is_urgent():
    queue = a_queue(12, parts=4)
    rushed = replace(one(4), rush=True)
    usual = promised(one(4), *queue)[0]
    first = promised(rushed, *queue)[0]
    alone = promised(one(4))[0]
    assert alone.raw_at <= first.raw_at < usual.raw_at - timedelta(hours=6)
    # the lots of others whose promises press go before it
    pressed = [replace(job, promise_at=MONDAY + timedelta(hours=2)) for job in queue]
    behind = promised(rushed, *pressed)[0]
    assert first.raw_at < behind.raw_at <= usual.raw_at
    # and one rush waits for another that came before
    others = [replace(job, rush=True) for job in queue]
    assert promised(rushed, *others)[0].raw_at == usual.raw_at


def test_the_floor_takes_a_rush_before_what_came_earlier():
    late, early = a_queue(2, parts=4)
    order = seen(late, replace(early, rush=True)).sequence[PartStage.PREP]
    assert order == (early.job_id, late.job_id)


# stations with hours of their own

MORNINGS = read(Hours, {day: ["08:00-12:00"] for day in DAYS[:5]})


def test_a_station_that_is_shut_is_not_free_for_whoever_comes():
    mornings = with_station(PLAIN, PartStage.BLAST, hours=MORNINGS)
    noon = MONDAY + timedelta(hours=5)
    waiting = [
        a_job(n, a_work(), parts=2, stage=PartStage.BLAST, comes=after(n, MONDAY))
        for n in range(1, 7)
    ]
    window = (Window(noon, noon, 1),)
    alone = promised(one(), stations=mornings, windows=window, now=noon)[0]
    # on Tuesday at eight: blast, coat, oven with cooling, look
    assert alone.raw_at == after(ONE_PART - 8, MONDAY + timedelta(days=1))
    behind = promised(one(), *waiting, stations=mornings, windows=window, now=noon)[0]
    # six pairs are blasted before it
    assert behind.raw_at >= alone.raw_at + timedelta(minutes=6 * 2 * 10)
    assert behind.raw_at.date() == alone.raw_at.date()


def test_an_evening_is_no_gap_and_costs_nobody_a_day():
    mornings = with_station(SPREAD, PartStage.BLAST, hours=MORNINGS)
    mornings = with_station(mornings, PartStage.PREP, places=2, spread=0.5)
    noon = MONDAY + timedelta(hours=4, minutes=5)
    queue = [
        a_job(n, a_work(), parts=4, stage=PartStage.PREP, comes=noon) for n in range(1, 6)
    ]  # 200 minutes of blast, on Tuesday morning, whoever of them is prepared first
    found = seen(*queue, stations=mornings, now=noon, replications=400)
    tuesday = (MONDAY + timedelta(days=1)).date()
    assert {one.likely_at.date() for one in found.outlook.values()} == {tuesday}


# an order of several lots


def test_the_next_lot_is_chosen_among_all_that_came_during_the_one_before():
    window = (Window(MONDAY, after(30), 1),)
    twelve = one(12, prep=0.0)  # two lots, an hour of blast each, from half past eight on
    came = a_job(1, a_work(prep=0.0), parts=6, comes=after(80))
    alone = promised(twelve, windows=window)[0].raw_at
    behind = promised(twelve, replace(came, rush=True), windows=window)[0].raw_at
    # the rush has its hour of blast between the two, from twenty past nine on
    assert behind >= alone + timedelta(minutes=50)


def test_the_standard_work_of_a_job_counts_the_oven_once_a_set_and_hands_each_part() -> None:
    """By hand: 8 + 10 + 4 minutes and two coats of 9, for each part; two bakes of 15 minutes with
    30 to heat up and 15 to cool down, once for each set, wherever the parts stand."""
    first, second = a_work(coats=2), a_work(set_key="B")
    one = PartState(first, PartStage.EXPECTED, 0, MONDAY)
    other = PartState(second, PartStage.CURE, 0, MONDAY)
    hands = 2 * (8 + 10 + 4 + 2 * 9) + 3 * (8 + 10 + 4 + 9)
    ovens = 2 * (30 + 15 + 15) + (30 + 15 + 15)
    job = JobWork(1, (one, one, other, other, other), MONDAY, None)
    assert standard_work(job, EXACT) == hands + ovens
