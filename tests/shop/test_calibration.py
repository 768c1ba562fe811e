"""What is learned of a shop's pace, against scipy and simulated truth, with bad records too."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from scipy import stats

from portal.shop.route import PartStage
from portal.shop.scheduling.calibration import (
    ENOUGH,
    FASTEST,
    SLOWEST,
    learn_pace,
    learn_rate,
    weighted_deviation,
    weighted_median,
)
from portal.shop.scheduling.visits import Visit

NOW = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
PRIOR_SPREAD = 0.25


def visits(ratios, *, age: timedelta = timedelta(days=3)) -> list[Visit]:
    return [Visit(PartStage.BLAST, 72.0 * float(one), 72.0, 4, NOW - age) for one in ratios]


def really(pace: float, spread: float, count: int, seed: int) -> np.ndarray:
    """Ratios as a shop has them that is `pace` slower: log-normal with that mean and spread."""
    rng = np.random.default_rng(seed)
    sigma2 = math.log1p(spread**2)
    return rng.lognormal(math.log(pace) - sigma2 / 2, math.sqrt(sigma2), count)


def spoilt(ratios: np.ndarray, share: float, seed: int) -> np.ndarray:
    """Some of them forgotten over days, some scanned in a pile; the first more often."""
    rng = np.random.default_rng(seed)
    bad = rng.random(len(ratios)) < share
    forgotten = rng.random(len(ratios)) < 0.75
    wrong = np.where(forgotten, rng.uniform(4, 40, len(ratios)), rng.uniform(0.01, 0.1))
    return np.where(bad, wrong, ratios)


# against an independent library


@pytest.mark.parametrize("seed", range(8))
def test_median_and_deviation_are_those_of_scipy_where_all_weigh_the_same(seed):
    values = np.random.default_rng(seed).normal(0.1, 0.3, 31 + seed)
    alike = [1.0] * len(values)
    middle = weighted_median(list(values), alike)
    assert middle == pytest.approx(float(np.median(values)))
    # scipy.stats.median_abs_deviation, scale="normal"
    assert weighted_deviation(list(values), alike, middle) == pytest.approx(
        float(stats.median_abs_deviation(values, scale="normal")), rel=1e-4
    )


def test_a_weight_of_three_is_the_value_three_times():
    values, weights = [5.0, 1.0, 2.0, 9.0], [1.0, 3.0, 1.0, 2.0]
    often = [5.0, 1.0, 1.0, 1.0, 2.0, 9.0, 9.0]
    assert weighted_median(values, weights) == float(np.median(often)) == 2.0


@pytest.mark.parametrize("seed", range(4))
def test_the_pace_of_clean_records_agrees_with_a_theil_sen_slope(seed):
    # real minutes over expected ones is a line through nothing; its robust slope is scipy's
    rng = np.random.default_rng(seed)
    expected = rng.uniform(20, 200, 300)
    minutes = expected * really(1.2, 0.15, 300, seed)
    seen = [
        Visit(PartStage.BLAST, float(m), float(e), 4, NOW)
        for m, e in zip(minutes, expected, strict=True)
    ]
    slope = stats.theilslopes(minutes, expected).slope
    assert learn_pace(seen, PRIOR_SPREAD, NOW).ratio == pytest.approx(slope, rel=0.05)


@pytest.mark.parametrize(("times", "of"), [(0, 0), (0, 12), (3, 40), (30, 200)])
def test_the_rework_rate_is_what_a_beta_binomial_expects_of_the_next_part(times, of):
    # the chance of one fault in the next one part: scipy.stats.betabinom with the counts added
    a, b = 0.04 * 50 + times, 0.96 * 50 + of - times
    assert learn_rate(times, of, 0.04).share == pytest.approx(
        float(stats.betabinom(1, a, b).pmf(1))
    )


# against simulated truth


@pytest.mark.parametrize("pace", [0.8, 1.0, 1.2, 1.5])
def test_the_true_pace_is_found(pace):
    learned = [
        learn_pace(visits(really(pace, 0.25, 150, seed)), PRIOR_SPREAD, NOW) for seed in range(20)
    ]
    assert np.mean([one.ratio for one in learned]) == pytest.approx(pace, rel=0.02)
    assert all(one.ratio == pytest.approx(pace, rel=0.1) for one in learned)
    assert all(one.counts for one in learned)


@pytest.mark.parametrize("spread", [0.1, 0.25, 0.4])
def test_the_true_spread_is_found(spread):
    learned = [
        learn_pace(visits(really(1.1, spread, 300, seed)), PRIOR_SPREAD, NOW).spread
        for seed in range(20)
    ]
    assert np.mean(learned) == pytest.approx(spread, rel=0.12)


@pytest.mark.parametrize("pace", [0.85, 1.2])
def test_a_fifth_of_the_records_may_be_spoilt(pace):
    clean, bad, mean = [], [], []
    for seed in range(20):
        ratios = really(pace, 0.25, 150, seed)
        wrong = spoilt(ratios, 0.2, seed)
        clean.append(learn_pace(visits(ratios), PRIOR_SPREAD, NOW).ratio)
        bad.append(learn_pace(visits(wrong), PRIOR_SPREAD, NOW).ratio)
        mean.append(float(wrong.mean()))
    assert np.mean(bad) == pytest.approx(np.mean(clean), rel=0.03)
    assert max(abs(b / c - 1) for b, c in zip(bad, clean, strict=True)) < 0.08
    # the control: the plain mean of the same records is far off
    assert min(mean) > 2 * pace


def test_what_was_put_aside_is_not_counted():
    learned = learn_pace(visits([*really(1.0, 0.2, 80, 1), *[30.0] * 10]), PRIOR_SPREAD, NOW)
    assert learned.all_visits == 90
    assert 70 <= learned.visits <= 80


# few, old, absurd


def test_nothing_recorded_is_the_prior():
    learned = learn_pace([], PRIOR_SPREAD, NOW)
    assert (learned.ratio, learned.spread, learned.visits) == (1.0, PRIOR_SPREAD, 0)
    assert not learned.counts


def test_a_few_visits_move_it_a_little_and_do_not_count_yet():
    far = [learn_pace(visits([1.4] * n), PRIOR_SPREAD, NOW) for n in (1, 5, 19, 60)]
    ratios = [one.ratio for one in far]
    assert ratios == sorted(ratios)
    assert 1.0 < ratios[0] < 1.25
    assert ratios[-1] == pytest.approx(1.4, rel=0.02)
    assert [one.counts for one in far] == [False, False, False, True]
    assert far[2].visits == ENOUGH - 1


def test_old_visits_fade():
    old = visits(really(1.6, 0.1, 100, 2), age=timedelta(days=270))
    new = visits(really(1.0, 0.1, 40, 3))
    assert learn_pace([*old, *new], PRIOR_SPREAD, NOW).ratio == pytest.approx(1.0, abs=0.04)


@pytest.mark.parametrize(("ratio", "bound"), [(9.0, SLOWEST), (0.1, FASTEST)])
def test_no_record_makes_a_station_absurd(ratio, bound):
    learned = learn_pace(visits([ratio] * 100), PRIOR_SPREAD, NOW)
    assert learned.ratio == pytest.approx(bound, rel=0.02)
    assert FASTEST <= learned.ratio <= SLOWEST


def test_one_absurd_record_alone_moves_little():
    assert learn_pace(visits([40.0]), PRIOR_SPREAD, NOW).ratio < 1.5


def test_a_visit_of_no_length_is_passed_over():
    learned = learn_pace([*visits([1.2] * 40), *visits([0.0] * 5)], PRIOR_SPREAD, NOW)
    assert learned.ratio == pytest.approx(1.2, rel=0.02)
