"""Promises compared at an equal share of kept ones, cell by cell.

Who promises later keeps more, so means of raw quotes say nothing. Each contestant's dates are
moved by one and the same span, so that just the wanted share of the cell is kept; what is compared
is the mean lead that it then quotes.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from tests.bench.sim_orders import DAY, Order

Array = npt.NDArray[Any]
KEEP = 0.95
HOUR = 60.0
HALF_DAY = DAY / 2
ALL, DOOR = "all", "door"
CLASSES = (ALL, "outside strip", "trade batch", "few parts", "set")
HORIZONS = (ALL, "0-2", "2-5", "5-10", "10+")
# two-sided 95 % points of Student's t by degrees of freedom
STUDENT = (12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26)
Row = dict[str, Any]


@dataclass(frozen=True)
class Said:
    """What one contestant promised of each order, and when it was done: minutes after drop-off."""

    lead: Array
    flow: Array

    def kept(self, cell: Array) -> float:
        """Return the share of kept promises."""
        return float((self.flow[cell] <= self.lead[cell]).mean())

    def hours(self, cell: Array) -> float:
        """Return the mean lead quoted at the equal share, in working hours."""
        late = np.sort(self.flow[cell] - self.lead[cell])
        shift = late[min(len(late) - 1, math.ceil(KEEP * len(late)) - 1)]
        return float(self.lead[cell].mean() + shift) / HOUR


@dataclass(frozen=True)
class Batch:
    """One run: its customers by cell, what we promised, and what the others would have."""

    scenario: str
    load: float
    seed: str
    kind: list[str]
    ahead: Array
    arrives: Array
    ours: Said
    told: Said | None = None
    changed: Array | None = None
    rivals: Mapping[str, Said] = field(default_factory=dict)

    def cell(self, quoted_at: str, kind: str, horizon: str) -> Array:
        """Return which orders belong to a cell."""
        found = np.ones(len(self.ahead), dtype=bool)
        if quoted_at != ALL:
            found &= (self.ahead == 0) == (quoted_at == DOOR)
        if kind != ALL:
            found &= np.array([one == kind for one in self.kind])
        if horizon != ALL:
            found &= np.array([band(days) == horizon for days in self.ahead])
        return found


def band(days: float) -> str:
    """Return the horizon of so many working days."""
    return HORIZONS[1 + sum(days > most for most in (2, 5, 10))]


def said(orders: Sequence[Order], due: Mapping[int, float] | None = None) -> Said:
    """Return what was promised of orders, `due` by their numbers or their own."""
    leads = [(one.due if due is None else due[one.number]) - one.arrives for one in orders]
    return Said(np.array(leads), np.array([one.flow for one in orders]))


def pooled(batches: Sequence[Batch], seed: str) -> Batch:
    """Return several runs as one."""
    first = batches[0]

    def whole(some: Sequence[Said]) -> Said:
        return Said(
            np.concatenate([one.lead for one in some]), np.concatenate([one.flow for one in some])
        )

    tolds = [one.told for one in batches if one.told is not None]
    changes = [one.changed for one in batches if one.changed is not None]
    return Batch(
        first.scenario,
        first.load,
        seed,
        [kind for one in batches for kind in one.kind],
        np.concatenate([one.ahead for one in batches]),
        np.concatenate([one.arrives for one in batches]),
        whole([one.ours for one in batches]),
        whole(tolds) if len(tolds) == len(batches) else None,
        np.concatenate(changes) if len(changes) == len(batches) else None,
        {name: whole([one.rivals[name] for one in batches]) for name in first.rivals},
    )


def rows_of(batch: Batch) -> list[Row]:
    """Return the row of each cell that has an order."""
    cells = [
        *((ALL, kind, horizon) for kind in CLASSES for horizon in HORIZONS),
        ("booking", ALL, ALL),
        (DOOR, ALL, ALL),
    ]
    return [_row(batch, *one) for one in cells if batch.cell(*one).any()]


def _row(batch: Batch, quoted_at: str, kind: str, horizon: str) -> Row:
    cell = batch.cell(quoted_at, kind, horizon)
    ours, told = batch.ours, batch.told
    late = ours.flow[cell] - ours.lead[cell]
    due_day = (batch.arrives + ours.lead)[cell] // DAY
    done_day = (batch.arrives + ours.flow)[cell] // DAY
    rivals = {name: one.hours(cell) for name, one in batch.rivals.items()}
    best = min(rivals, key=rivals.__getitem__, default=None)
    hours, best_hours = ours.hours(cell), rivals[best] if best else None
    told_hours = told.hours(cell) if told else None
    return {
        "scenario": batch.scenario,
        "load": batch.load,
        "seed": batch.seed,
        "quoted_at": quoted_at,
        "class": kind,
        "horizon": horizon,
        "n": int(cell.sum()),
        "kept": round(ours.kept(cell), 4),
        "mean_quoted_hours": round(hours, 2),
        "best_rival": best,
        "best_rival_hours": _rounded(best_hours),
        "told_future_hours": _rounded(told_hours),
        "gap_closed": gap_closed(hours, best_hours, told_hours),
        "late_p99_hours": round(max(0.0, float(np.quantile(late, 0.99))) / HOUR, 2),
        "wrong_day": round(float((done_day > due_day).mean()), 4),
        "dates_changed": _share(batch.changed, cell),
    }


def gap_closed(ours: float, rival: float | None, told: float | None) -> float | None:
    """Return the share of the way from the best rival to the engine told of all later customers."""
    if rival is None or told is None or rival - told < 0.1:
        return None
    return round((rival - ours) / (rival - told), 3)


def interval(values: Sequence[float]) -> float:
    """Return half of the 95 % interval of the mean of batches; infinite for a single one."""
    if len(values) < 2:
        return math.inf
    spread = float(np.std(values, ddof=1)) / math.sqrt(len(values))
    return spread * STUDENT[min(len(values) - 2, len(STUDENT) - 1)]


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)


def _share(marks: Array | None, cell: Array) -> float | None:
    return None if marks is None else round(float(marks[cell].mean()), 4)
