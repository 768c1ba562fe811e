"""Which working times follow from departures, held against floors whose true times are known."""

import heapq
import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from portal.shop.route import PartStage
from portal.shop.scheduling.calibration import learn_pace
from portal.shop.scheduling.visits import Stay, timed

DAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
BLAST, COAT = PartStage.BLAST, PartStage.COAT


def stay(job: int, came: float, left: float, expected: float = 18.0, **more) -> Stay:
    left_at = DAY + timedelta(minutes=min(left, 1e6))
    return Stay((job, "a"), came, left, left_at, expected, **more)


def seen(*stays: Stay, places: int = 1, **more) -> list[tuple[float, float, int]]:
    return [(one.minutes, one.expected, one.parts) for one in timed(stays, BLAST, places, **more)]


# by hand


def test_a_lot_that_waited_is_timed_from_the_departure_before_it():
    first = [stay(1, 0, 80)] * 4
    assert seen(*first, *[stay(2, 30, 150)] * 4) == [(70, 72, 4)]


def test_the_wait_in_the_queue_is_no_work():
    assert seen(stay(1, 0, 20), stay(2, 0, 40), stay(3, 0, 61)) == [(20, 18, 1), (21, 18, 1)]


def test_who_found_the_place_empty_tells_nothing():
    assert seen(stay(1, 0, 20), stay(2, 50, 90), stay(3, 100, 130)) == []


def test_the_first_of_a_lot_opens_the_clock_for_its_others():
    # four wheels scanned one by one: when the first one was begun nobody knows
    lot = [stay(1, 0, left) for left in (50, 70, 88, 110)]
    assert seen(*lot) == [(60, 54, 3)]


def test_a_pile_scanned_in_one_go_is_one_time_for_all_that_was_done_in_it():
    pile = [stay(2, 5, 95.0), stay(3, 5, 95.4), stay(4, 5, 96.0)]
    assert seen(stay(1, 0, 20), *pile) == [(76, 54, 3)]


def test_a_part_that_waited_for_its_customer_is_left_out_and_nothing_is_read_across_it():
    held = stay(2, 0, 400, undisturbed=False)
    assert seen(stay(1, 0, 20), held, stay(3, 0, 420)) == [(20, 18, 1)]


def test_a_change_of_powder_is_expected_on_top():
    stays = [
        stay(n, 0, left, 10, colour=c) for n, left, c in [(1, 9, "k"), (2, 20, "k"), (3, 45, "r")]
    ]
    assert seen(*stays, colour_change=12) == [(11, 10, 1), (25, 22, 1)]


def test_two_places_are_timed_only_while_both_have_a_lot():
    one_lot = [stay(1, 0, left) for left in (20, 22.5, 40, 43, 60, 63)]
    assert seen(*one_lot, places=2) == []
    two = [stay(1 + n % 2, 0, 20.0 + 10 * n) for n in range(9)]
    # from the first departure on, four at a time; the last one leaves a place without a lot
    assert seen(*two, places=2) == [(80, 72, 4)]


def test_what_is_still_there_has_no_time_yet_but_keeps_a_place_busy():
    there = stay(9, 0, math.inf)
    leaving = [stay(1, 0, 20.0 + 9 * n) for n in range(5)]
    assert seen(*leaving, places=2) == []
    assert seen(*leaving, there, places=2) == [(72, 72, 4)]


def test_nothing_tells_nothing():
    assert seen() == []


# a floor with known times


def floor(
    pace: float, places: int, load: float, seed: int, *, one_by_one: bool = False, jobs: int = 400
) -> list[Stay]:
    """Lots of one to four wheels in a queue, each worked on by one person at the true pace."""
    rng = np.random.default_rng(seed)
    free = [0.0] * places
    at, stays = 0.0, []
    sigma2 = math.log1p(0.25**2)
    for job in range(jobs):
        at += rng.exponential(2.5 * 18 * pace / places / load)
        count = int(rng.integers(1, 5))
        times = 18 * pace * rng.lognormal(-sigma2 / 2, math.sqrt(sigma2), count)
        begun = max(at, heapq.heappop(free))
        ends = begun + np.cumsum(times)
        heapq.heappush(free, float(ends[-1]))
        stays += [stay(job, at, float(end if one_by_one else ends[-1])) for end in ends]
    return stays


@pytest.mark.parametrize("one_by_one", [False, True])
@pytest.mark.parametrize("places", [1, 2])
@pytest.mark.parametrize("pace", [0.8, 1.25])
def test_the_true_pace_of_a_simulated_floor_is_found(pace, places, one_by_one):
    found = []
    for seed in range(5):
        visits = timed(floor(pace, places, 0.8, seed, one_by_one=one_by_one), BLAST, places)
        learned = learn_pace(visits, 0.25, DAY + timedelta(days=40))
        assert learned.counts
        found.append(learned.ratio)
    assert np.mean(found) == pytest.approx(pace, rel=0.05)


def test_the_time_in_the_house_would_have_told_something_else():
    # the control: what a part spends at a busy station is not what it is worked on
    stays = floor(1.0, 1, 0.8, 3)
    spent = np.median([(one.left - one.came) / one.expected for one in stays])
    assert spent > 3


def test_scans_forgotten_until_the_evening_do_not_spoil_a_station():
    rng = np.random.default_rng(5)
    wrong = [
        stay(one.lot[0], one.came, one.left + rng.uniform(60, 400)) if one.lot[0] % 10 == 0 else one
        for one in floor(1.2, 1, 0.85, 5)
    ]
    learned = learn_pace(timed(wrong, BLAST, 1), 0.25, DAY + timedelta(days=40))
    assert learned.counts
    assert learned.ratio == pytest.approx(1.2, rel=0.08)
