"""A rival that knows no simulation: a linear model of the state, with a margin that adapts.

What every shop could read off its books at the moment of booking, in 27 figures, weighed by least
squares on training runs; on top the percentile of the last residuals, so that it keeps its share.
"""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from tests.bench.sim_orders import DAY, WEEK, House, Order
from tests.bench.sim_shop import Quote, Shop

LAST = 400  # residuals that the margin is read from
RIDGE = 1.0
TO_BLAST = ("prep", "strip", "blast")
Row = tuple[float, ...]


def features(shop: Shop, order: Order) -> Row:
    """Return what the rival sees when an order is booked."""
    return (*_own(shop.house, order), *_calendar(shop, order), *_state(shop, order))


def _own(house: House, order: Order) -> Row:
    return (
        1.0,
        order.count * order.prep,
        order.count * order.blast,
        order.count * sum(order.coat),
        order.count * (order.inspect + order.refit),
        float(len(order.cures)),
        float(order.strip),
        float(order.count >= 12),
        order.inside(house),
    )


def _calendar(shop: Shop, order: Order) -> Row:
    ahead = (order.arrives - order.booked) / DAY
    clock = order.arrives % DAY / DAY
    weekday = int(order.arrives // DAY) % WEEK
    away = _away(shop.house, order) if order.strip else 0.0
    return (away, ahead, min(ahead, 2.0), clock, *(float(weekday == n) for n in range(1, WEEK)))


def _away(house: House, order: Order) -> float:
    """Return the minutes from the drop-off until a strip run that it catches is back."""
    ready = order.arrives + order.count * order.prep
    day = int(ready // DAY)
    while day % WEEK not in house.run_days or day * DAY + house.cut_off < ready:
        day += 1
    return (day + house.back_days) * DAY + house.back_at - order.arrives


def _state(shop: Shop, order: Order) -> Row:
    house = shop.house
    near = max(0.0, 1.0 - (order.arrives - order.booked) / (3 * DAY))
    lots = [lot for one in shop.open.values() for lot in one.lots]
    waiting = sum(shop.left(lot) for lot in lots)
    blast = sum(lot.parts * lot.order.blast for lot in lots if lot.stage in TO_BLAST)
    booked = list(shop.booked.values())
    before = [one for one in booked if one.arrives <= order.arrives]
    close = [one for one in booked if abs(one.arrives - order.arrives) <= DAY]
    return (
        float(len(shop.open)),
        waiting,
        waiting * near,
        blast * near,
        float(sum(lot.stage == "strip" for lot in lots)),
        sum(one.inside(house) for one in before),
        sum(one.count * one.blast for one in before) * near,
        sum(one.count * one.blast for one in close),
        float(len(booked)),
    )


@dataclass
class LinearRival:
    """Quotes by its weights, and adapts its margin to what became of its promises."""

    weights: np.ndarray
    keep: float
    residuals: deque[float]
    said: dict[int, float] = field(default_factory=dict)

    def mean(self, shop: Shop, order: Order) -> float:
        """Return the moment at which it expects an order to be done."""
        lead = float(np.dot(self.weights, features(shop, order)))
        return order.arrives + max(60.0, lead)

    def quote(self, shop: Shop, order: Order) -> float:
        """Return the moment that it promises."""
        self.said[order.number] = self.mean(shop, order)
        return self.said[order.number] + self.margin

    def learn(self, _shop: Shop, order: Order) -> None:
        """Take notice of a finished order."""
        assert order.done is not None
        self.residuals.append(order.done - self.said.pop(order.number))

    @property
    def margin(self) -> float:
        """The percentile of the last residuals."""
        return float(np.quantile(self.residuals, self.keep))


class Watcher:
    """Notes the features of every order while somebody else quotes."""

    def __init__(self, quote: Quote) -> None:
        self._quote = quote
        self.rows: dict[int, Row] = {}

    def quote(self, shop: Shop, order: Order) -> float:
        """Note, and quote as the other does."""
        self.rows[order.number] = features(shop, order)
        return self._quote(shop, order)


def fit_rival(rows: Sequence[Row], flows: Sequence[float], keep: float) -> LinearRival:
    """Weigh the features by least squares."""
    x, y = np.array(rows), np.array(flows)
    scale = np.maximum(np.abs(x).max(axis=0), 1e-9)
    a = x / scale
    weights = np.linalg.solve(a.T @ a + RIDGE * np.eye(len(scale)), a.T @ y) / scale
    residuals = y - x @ weights
    return LinearRival(weights, keep, deque(residuals[-LAST:].tolist(), maxlen=LAST))
