"""The margin of promises, learned where the errors differ: by kind of order and by how far ahead.

A promise is the moment that the simulation foresaw, plus a margin. What each promise needed is
known when its order is ready: the working minutes by which that came after the foreseen moment. The
margin is the percentile of these needs that the shop wants kept (split conformal prediction: Vovk,
Gammerman and Shafer 2005, Algorithmic Learning in a Random World, ch. 2; with weights that fade:
Barber, Candès, Ramdas and Tibshirani 2023, Conformal prediction beyond exchangeability, Annals of
Statistics 51, 816-845; from memory). What a horizon and a kind need besides is shrunk towards
its prior while there are few of them.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from portal.shop.scheduling.lots import JobWork
from portal.shop.states import Horizon, OrderKind

TRADE_PARTS = 12  # so many parts are a trade batch; common practice
FEW_PARTS = 2
HALF_LIFE = timedelta(days=120)  # a promise counts half as much after so long …
HALF_COUNT = 400.0  # … or after so many later ones
MOST = 1_200  # older ones weigh nothing
ENOUGH = 120.0  # promises that the prior of a horizon or a kind is worth
ENOUGH_IN_ALL = 80.0  # promises that the prior of all is worth
# working minutes before anything was learned; chosen with `make bench-promise`
START = 60.0
LEAST, MOST_MINUTES = -600.0, 2_400.0
ROUNDS = 2


# of many parts one fails inspection more often; chosen with `make bench-promise`
KINDS_START = {OrderKind.TRADE_BATCH: 400.0}
FROM_DAYS = {Horizon.FURTHEST: 10.0, Horizon.FAR: 5.0, Horizon.SOON: 2.0}


@dataclass(frozen=True, slots=True)
class PastPromise:
    """What became of one promise.

    `needed` is the margin in working minutes with which it would just have been kept, `at` when
    that was known.
    """

    kind: OrderKind
    horizon: Horizon
    needed: float
    at: datetime


@dataclass(frozen=True, slots=True)
class Margins:
    """The margins in working minutes: of all promises, and what horizons and kinds need besides.

    `promises` is how many they were learned from.
    """

    whole: float = START
    horizons: Mapping[Horizon, float] = field(default_factory=dict)
    kinds: Mapping[OrderKind, float] = field(default_factory=lambda: dict(KINDS_START))
    promises: int = 0

    def of(self, kind: OrderKind, horizon: Horizon) -> float:
        """Return the margin of one promise."""
        found = self.whole + self.horizons.get(horizon, 0.0) + self.kinds.get(kind, 0.0)
        return min(MOST_MINUTES, max(LEAST, found))


def kind_of(job: JobWork) -> OrderKind:
    """Return what kind of order a job is."""
    if any(part.work.outside_days for part in job.parts):
        return OrderKind.OUTSIDE_STRIP
    if len(job.parts) >= TRADE_PARTS:
        return OrderKind.TRADE_BATCH
    return OrderKind.FEW_PARTS if len(job.parts) <= FEW_PARTS else OrderKind.SET


def horizon_of(days: float) -> Horizon:
    """Return the horizon of a drop-off so many working days ahead."""
    return next((one for one, least in FROM_DAYS.items() if days > least), Horizon.NEAR)


def learn_margins(past: Sequence[PastPromise], percent: float, now: datetime) -> Margins:
    """Learn the margins from what became of the promises, oldest first."""
    past = past[-MOST:]
    share, last = percent / 100, len(past) - 1
    weighed = [
        (one, 0.5 ** ((now - one.at) / HALF_LIFE + (last - n) / HALF_COUNT))
        for n, one in enumerate(past)
    ]
    horizons = dict.fromkeys(Horizon, 0.0)
    kinds = {kind: KINDS_START.get(kind, 0.0) for kind in OrderKind}
    whole = START
    for _ in range(ROUNDS):
        left = [(one.needed - horizons[one.horizon] - kinds[one.kind], w) for one, w in weighed]
        whole = _shrunk(left, share, START, ENOUGH_IN_ALL)
        for key in Horizon:
            own = [
                (one.needed - whole - kinds[one.kind], weight)
                for one, weight in weighed
                if one.horizon is key
            ]
            horizons[key] = _shrunk(own, share, 0.0, ENOUGH)
        for kind in OrderKind:
            own = [
                (one.needed - whole - horizons[one.horizon], weight)
                for one, weight in weighed
                if one.kind is kind
            ]
            kinds[kind] = _shrunk(own, share, KINDS_START.get(kind, 0.0), ENOUGH)
    left = [(one.needed - horizons[one.horizon] - kinds[one.kind], w) for one, w in weighed]
    whole = _shrunk(left, share, START, ENOUGH_IN_ALL)
    return Margins(whole, horizons, kinds, len(past))


def _shrunk(
    values: Iterable[tuple[float, float]], share: float, prior: float, worth: float
) -> float:
    """Return the weighted percentile of values, drawn towards `prior`, which is worth so many."""
    order = sorted(values)
    n = sum(weight for _, weight in order)
    reached, goal, found = 0.0, share * (n + 1), prior
    for found, weight in order:  # noqa: B007  # the last where the goal is not reached
        reached += weight
        if reached >= goal:
            break
    return (n * found + worth * prior) / (n + worth)
