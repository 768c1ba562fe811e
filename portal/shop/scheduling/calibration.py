"""Pace and rework as learned from the shop's own records, against the priors.

Records are wrong now and then: a job is forgotten over a weekend, a pile is scanned hours later.
Medians are robust against that: half of the records would have to be wrong.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from portal.shop.scheduling.visits import Visit

ENOUGH = 20  # visits before the learned figure counts
HALF_LIFE = timedelta(days=90)  # an old visit counts half as much after so long
SLOWEST, FASTEST = 2.5, 0.4  # a pace beyond these is a fault in the records
TO_NORMAL = 1.4826  # MAD of a normal distribution → its standard deviation (1 / Φ⁻¹(3/4))
FAR = 2.5  # deviations from the median beyond which a record is put aside
ROUNDS = 4
LEAST_DEVIATION = 0.02  # of the logarithm; so that equal records put nothing aside
PRIOR_DEVIATION = 0.25  # how far shops' paces lie around the prior (log); common practice
WEIGHT_OF_PRIOR_SPREAD = 10.0  # visits that the prior spread is worth; common practice
WEIGHT_OF_PRIOR_RATE = 50.0  # inspections that the prior rework rate is worth; common practice


@dataclass(frozen=True, slots=True)
class Pace:
    """The learned ratio of real to expected minutes, and its deviation over its mean.

    `visits` of `all_visits` were plausible; `counts` when they are enough to be used.
    """

    ratio: float
    spread: float
    visits: int
    all_visits: int
    counts: bool


@dataclass(frozen=True, slots=True)
class LearnedRate:
    """A learned share: how many of how many, and the share to go by."""

    share: float
    times: int
    of: int
    counts: bool


def learn_pace(visits: Sequence[Visit], spread: float, now: datetime) -> Pace:
    """Learn a station's pace from its visits; `spread` is the prior deviation over the mean.

    Median and median absolute deviation of the log-ratios, both weighted by age; what lies more
    than 2.5 deviations away is put aside and both are taken again (Hampel's rule with the
    constants of Davies and Gather 1993, The identification of multiple outliers, JASA 88,
    782–792; the median and the MAD: Huber and Ronchetti 2009, Robust Statistics, ch. 1 and 5;
    from memory). The mean of a log-normal with that median follows, since the forecast counts
    in means. Few visits are shrunk towards the prior, ratio 1, by the normal model with known
    variance, that of a median being π/2 · s²/n (Gelman et al. 2013, Bayesian Data Analysis,
    sec. 2.5; from memory), n being the effective number of weighted records (Kish 1965).
    """
    usable = [one for one in visits if one.minutes > 0 and one.expected > 0]
    logs = [math.log(one.minutes / one.expected) for one in usable]
    weights = [0.5 ** ((now - one.at) / HALF_LIFE) for one in usable]
    if not logs:
        return Pace(1.0, spread, 0, len(visits), counts=False)
    middle, deviation, inliers = _believed(logs, weights)
    believed = [weight for weight, keep in zip(weights, inliers, strict=True) if keep]
    n = sum(believed) ** 2 / sum(weight * weight for weight in believed)
    # a handful of visits agree by chance: their deviation is mixed with the prior one
    prior = math.log1p(spread * spread)
    variance = (n * deviation * deviation + WEIGHT_OF_PRIOR_SPREAD * prior) / (
        n + WEIGHT_OF_PRIOR_SPREAD
    )
    trust = 1 / (1 + math.pi / 2 * variance / n / PRIOR_DEVIATION**2)
    # bounded before it is shrunk, so that one absurd record among few moves little
    mean = min(math.log(SLOWEST), max(math.log(FASTEST), middle + deviation * deviation / 2))
    return Pace(
        ratio=math.exp(trust * mean),
        spread=math.sqrt(math.expm1(variance)),
        visits=len(believed),
        all_visits=len(visits),
        counts=len(believed) >= ENOUGH,
    )


def learn_rate(times: int, of: int, prior: float) -> LearnedRate:
    """Learn a share from `times` out of `of`: the mean of the Beta posterior.

    The prior is Beta with mean `prior`, worth 50 looks (Gelman et al. 2013, Bayesian Data
    Analysis, sec. 2.4; from memory).
    """
    share = (prior * WEIGHT_OF_PRIOR_RATE + times) / (WEIGHT_OF_PRIOR_RATE + of)
    return LearnedRate(share, times, of, counts=of >= ENOUGH)


def weighted_median(values: Sequence[float], weights: Sequence[float]) -> float:
    """Return the value with half of the weight on either side; the middle of two where it ties."""
    order = sorted(zip(values, weights, strict=True))
    half = sum(weights) / 2
    below = 0.0
    for n, (value, weight) in enumerate(order):
        below += weight
        if math.isclose(below, half) and n + 1 < len(order):
            return (value + order[n + 1][0]) / 2
        if below > half:
            return value
    return order[-1][0]


def weighted_deviation(values: Sequence[float], weights: Sequence[float], middle: float) -> float:
    """Return the median absolute deviation around `middle`, scaled to a standard deviation."""
    return TO_NORMAL * weighted_median([abs(one - middle) for one in values], weights)


def _believed(values: Sequence[float], weights: Sequence[float]) -> tuple[float, float, list[bool]]:
    """Return median, deviation, and which values are near enough to be plausible."""
    inliers = [True] * len(values)
    middle = deviation = 0.0
    for _ in range(ROUNDS):
        some = [one for one, keep in zip(values, inliers, strict=True) if keep]
        heavy = [one for one, keep in zip(weights, inliers, strict=True) if keep]
        middle = weighted_median(some, heavy)
        deviation = max(LEAST_DEVIATION, weighted_deviation(some, heavy, middle))
        now = [abs(one - middle) <= FAR * deviation for one in values]
        if now == inliers:
            break
        inliers = now
    return middle, deviation, inliers
