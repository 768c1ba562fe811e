"""The textbook due-date rules, each fitted on training runs to keep its share of promises.

Constant (CON), total work (TWK), number of operations (NOP), jobs in queue (JIQ) and work in
queue (WIQ), as in Cheng and Gupta 1989, Survey of scheduling research involving due date
determination decisions, European Journal of Operational Research 38, 156–166 (from memory).
Their floor takes the earliest due date first.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tests.bench.sim_orders import Order
from tests.bench.sim_shop import Quote, Shop

Features = tuple[float, ...]

RULES: dict[str, Callable[[Shop, Order], Features]] = {
    "constant": lambda shop, order: (1.0,),
    "total work": lambda shop, order: (order.work(shop.house),),
    "number of operations": lambda shop, order: (float(order.operations()),),
    "jobs in queue": lambda shop, order: (order.work(shop.house), float(len(shop.open))),
    "work in queue": lambda shop, order: (order.work(shop.house), shop.work_waiting()),
}
SHARES = (0.0, *(0.02 * 1.3**n for n in range(30)))
ROUNDS = 3
Run = Callable[[Quote], list[Order]]


@dataclass(frozen=True)
class Rule:
    """A rule with its coefficients: due = arrival + the weighted sum of its features."""

    name: str
    weights: Features

    def due(self, shop: Shop, order: Order) -> float:
        """Return the due time of an order that is booked now."""
        found = RULES[self.name](shop, order)
        return order.arrives + sum(w * x for w, x in zip(self.weights, found, strict=True))


def fit(name: str, runs: Sequence[Run], keep: float) -> Rule:
    """Fit a rule. Due dates steer the floor, so run and fit in turns until they agree."""
    rule = Rule(
        name, (3000.0,) if name == "constant" else (3.0, 3.0) if "queue" in name else (3.0,)
    )
    for _ in range(ROUNDS):
        rows: list[tuple[Features, float]] = []
        for run in runs:
            seen: dict[int, Features] = {}
            orders = run(_watching(rule, seen))
            rows += [(seen[order.number], order.flow) for order in orders]
        rule = Rule(name, _weights(rows, keep))
    return rule


def _watching(rule: Rule, seen: dict[int, Features]) -> Quote:
    def quote(shop: Shop, order: Order) -> float:
        seen[order.number] = RULES[rule.name](shop, order)
        return rule.due(shop, order)

    return quote


def _weights(rows: Sequence[tuple[Features, float]], keep: float) -> Features:
    """Return the weights with the least mean lead among those that keep the share."""
    if len(rows[0][0]) == 1:
        return (_quantile([flow / x[0] for x, flow in rows], keep),)
    mean = [sum(x[n] for x, _ in rows) / len(rows) for n in (0, 1)]
    best = (math.inf, 0.0, 0.0)
    for share in SHARES:
        second = share * mean[0] / mean[1]
        first = _quantile([flow / (x[0] + second * x[1]) for x, flow in rows], keep)
        best = min(best, (first * (mean[0] + second * mean[1]), first, first * second))
    return best[1:]


def _quantile(values: list[float], share: float) -> float:
    return sorted(values)[min(len(values) - 1, math.ceil(share * len(values)) - 1)]
