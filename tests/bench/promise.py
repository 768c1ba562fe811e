"""The proof of the promise: it and its rivals in the same simulated shop, quoted at booking.

Per load and seed: a world of true times of its own; training runs in which the textbook rules and a
linear model are fitted; then one run each, with the same customers, whom none of them has seen. Our
own begins on its first day, with nothing learned. `python -m tests.bench.promise [--seeds N]
[--first SEED] [--workers N] [--quick]` prints the table. After each run what is known by then is
written to build/promise.json, and the table to build/promise.txt. The constants of the house were
chosen on seeds from 101 on; what is reported comes from the first ones.
"""

import argparse
import json
import os
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from dataclasses import replace
from pathlib import Path

import numpy as np

from tests.bench.compare import (
    ALL,
    HALF_DAY,
    HOUR,
    KEEP,
    Batch,
    Row,
    Said,
    gap_closed,
    interval,
    pooled,
    rows_of,
    said,
)
from tests.bench.due_date_rules import RULES, fit
from tests.bench.linear_rival import LinearRival, Watcher, fit_rival
from tests.bench.our_promise import OurPromise
from tests.bench.shocks import SHOCKS, Shock, shocked_run
from tests.bench.sim_orders import DAY, House, Order, orders, world
from tests.bench.sim_shop import Quote, Shop

LOADS = (0.60, 0.75, 0.85)
FIRST_PROMISES, COUNTED, TRAINING = 200, 500, 1_200
QUICK_LOADS, QUICK_COUNTED = (0.75,), 300
SHOCK_LOAD, QUIET, AFTER_SHOCK = 0.75, 220, 80
WARM_UP = 100  # of a training run
BUILD = Path("build")
USUAL, FIRST_DAYS = "usual", "first promises"
Learn = Callable[[Shop, Order], None]


def run(
    load: float,
    seed: str,
    real_seed: int,
    quote: Quote,
    finished: Learn = lambda *_: None,
    *,
    count: int = FIRST_PROMISES + COUNTED,
    rework: float = 0.005,
    by_due: bool = False,
) -> list[Order]:
    """Run one shop and return its orders in the order of their bookings."""
    house, real = House(), world(real_seed, rework)
    coming = orders(seed, count, load, real, house)
    Shop(house, real, seed, quote, finished, by_due=by_due).run(coming)
    return sorted(coming, key=lambda one: (one.booked, one.number))


def kept(found: Sequence[Order]) -> float:
    """Return the share of kept promises."""
    return sum(one.flow <= one.due - one.arrives for one in found) / len(found)


def quoted(found: Sequence[Order]) -> float:
    """Return the mean lead that was promised, in working hours."""
    return sum(one.due - one.arrives for one in found) / len(found) / HOUR


def flow(found: Sequence[Order]) -> float:
    """Return the mean time that was really needed, as a clairvoyant would quote it."""
    return sum(one.flow for one in found) / len(found) / HOUR


def trained_rival(load: float, seed: int, *, by_due: bool) -> LinearRival:
    """Fit the linear model. Its dates steer the floor, so run and fit in turns."""
    rival: LinearRival | None = None
    for _ in range(3):
        rows: list[tuple[float, ...]] = []
        flows: list[float] = []
        for n in (1, 2):
            watcher = Watcher(rival.quote if rival else _by_work)
            learn = rival.learn if rival else lambda *_: None
            name = f"{seed}/training {n}"
            found = run(load, name, seed, watcher.quote, learn, count=TRAINING, by_due=by_due)
            rows += [watcher.rows[one.number] for one in found[WARM_UP:]]
            flows += [one.flow for one in found[WARM_UP:]]
        rival = fit_rival(rows, flows, KEEP)
    assert rival is not None
    return rival


def _by_work(shop: Shop, order: Order) -> float:
    return order.arrives + 3 * order.inside(shop.house) + 2 * DAY


def rivals_of(load: float, seed: int, count: int) -> dict[str, list[Order]]:
    """Return a run of each rival with the customers of the test."""
    found: dict[str, list[Order]] = {}
    for name, by_due in (("linear model", False), ("linear model, earliest due first", True)):
        rival = trained_rival(load, seed, by_due=by_due)
        found[name] = run(
            load, f"{seed}/test", seed, rival.quote, rival.learn, count=count, by_due=by_due
        )
    for name in RULES:
        trainings = [
            lambda quote, n=n: run(
                load, f"{seed}/training {n}", seed, quote, count=TRAINING, by_due=True
            )[WARM_UP:]
            for n in (1, 2)
        ]
        rule = fit(name, trainings, KEEP)
        found[name] = run(load, f"{seed}/test", seed, rule.due, count=count, by_due=True)
    return found


def prove(load: float, seed: int, counted: int = COUNTED) -> list[Batch]:
    """Return the run of one load and seed: its first promises, and those after them."""
    count = FIRST_PROMISES + counted
    ours = OurPromise(House(), told=True)
    found = run(load, f"{seed}/test", seed, ours.quote, ours.learn, count=count)
    others = rivals_of(load, seed, count)
    told = {number: float(note.told or 0) for number, note in ours.notes.items()}
    parts = ((FIRST_DAYS, slice(FIRST_PROMISES)), (USUAL, slice(FIRST_PROMISES, None)))
    return [
        replace(
            _batch(name, load, seed, found[part], ours),
            told=said(found[part], told),
            rivals={rival: said(run[part]) for rival, run in others.items()}
            if name is USUAL
            else {},
        )
        for name, part in parts
    ]


def prove_shock(shock: Shock, seed: int) -> list[Batch]:
    """Return the hundred orders after a shock began, and those after sixty more."""
    next_, later, ours = shocked_run(
        shock, SHOCK_LOAD, seed, world(seed), after=QUIET, count=QUIET + 160 + AFTER_SHOCK
    )
    return [
        _batch(f"{shock.name}: {when}", SHOCK_LOAD, seed, found, ours)
        for when, found in (("the next hundred", next_), ("after 160", later))
    ]


def _batch(name: str, load: float, seed: int, found: Sequence[Order], ours: OurPromise) -> Batch:
    return Batch(
        name,
        load,
        str(seed),
        [one.kind for one in found],
        np.array([(one.arrives - one.booked) / DAY for one in found]),
        np.array([one.arrives for one in found]),
        said(found),
        changed=np.array([ours.notes[one.number].changed for one in found]),
    )


def report(batches: Sequence[Batch]) -> list[Row]:
    """Return the rows of every run, and of all seeds of a scenario and load together."""
    rows = [row for one in batches for row in rows_of(one)]
    for key in sorted({(one.scenario, one.load) for one in batches}):
        rows += rows_of(pooled([one for one in batches if (one.scenario, one.load) == key], ALL))
    return rows


def table(batches: Sequence[Batch]) -> str:
    """Return the cells of all seeds together, and the intervals of the whole."""
    head = ("scenario", "load", "class", "horizon", "n", "kept", "h", "rival", "told", "closed")
    lines = [("{:<24} {:>4} {:<14} {:<7} {:>5} {:>6} {:>6} {:>6} {:>6} {:>6}").format(*head)]
    for key in sorted({(one.scenario, one.load) for one in batches}):
        own = [one for one in batches if (one.scenario, one.load) == key]
        rows = rows_of(pooled(own, ALL))
        lines += [_line(row) for row in rows if ALL in (row["class"], row["horizon"])]
        lines.append(_whole(own))
    lines.append(f"Working hours ({DAY / HOUR:.0f} a day), before rounding to pickup hours.\n")
    return "\n".join(lines)


def _line(row: Row) -> str:
    def number(key: str) -> str:
        return "-" if row[key] is None else f"{row[key]:.2f}"

    kind = row["class"] if row["quoted_at"] == ALL else f"({row['quoted_at']})"
    return (
        f"{row['scenario']:<24} {row['load']:>4.2f} {kind:<14} {row['horizon']:<7} "
        f"{row['n']:>5} {100 * row['kept']:>5.1f}% {row['mean_quoted_hours']:>6.2f} "
        f"{number('best_rival_hours'):>6} {number('told_future_hours'):>6} "
        f"{number('gap_closed'):>6}  late p99 {row['late_p99_hours']:.1f} h, wrong day "
        f"{100 * row['wrong_day']:.1f}%, dates changed {100 * (row['dates_changed'] or 0):.1f}%, "
        f"{row['best_rival'] or ''}"
    )


def _whole(own: Sequence[Batch]) -> str:
    """Return the whole of some seeds with the intervals of its figures."""
    every = [one.cell(ALL, ALL, ALL) for one in own]
    kept_ = [one.ours.kept(cell) for one, cell in zip(own, every, strict=True)]
    late = np.concatenate([one.ours.flow - one.ours.lead for one in own])
    says = f"  kept {100 * np.mean(kept_):.1f} ± {100 * interval(kept_):.1f} %"
    gaps = [_gap(one) for one in own if one.rivals and one.told]
    known = [gap for gap in gaps if gap is not None]
    if known:
        says += f", gap closed {np.mean(known):.2f} ± {interval(known):.2f}"
    broken = late[late > 0] / HOUR
    return (
        f"{says}, at most half a day late {100 * (late <= HALF_DAY).mean():.2f} %, worst "
        f"{max(0.0, late.max()) / HOUR:.1f} h, mean of the broken "
        f"{broken.mean() if len(broken) else 0:.1f} h ({len(own)} seeds)\n"
    )


def _gap(batch: Batch) -> float | None:
    cell = batch.cell(ALL, ALL, ALL)
    best = min(one.hours(cell) for one in batch.rivals.values())
    told: Said | None = batch.told
    return gap_closed(batch.ours.hours(cell), best, told.hours(cell) if told else None)


def main() -> int:
    """Run all loads and seeds, print and write the figures."""
    wanted = argparse.ArgumentParser(description=__doc__)
    wanted.add_argument("--seeds", type=int, default=10)
    wanted.add_argument("--first", type=int, default=1)
    wanted.add_argument("--workers", type=int, default=os.cpu_count())
    wanted.add_argument("--quick", action="store_true", help="one load, two seeds")
    wanted.add_argument("--loads", type=float, nargs="*")
    asked = wanted.parse_args()
    loads = asked.loads or (QUICK_LOADS if asked.quick else LOADS)
    seeds = range(asked.first, asked.first + (2 if asked.quick else asked.seeds))
    counted = QUICK_COUNTED if asked.quick else COUNTED
    batches: list[Batch] = []
    with ProcessPoolExecutor(asked.workers) as pool:
        waiting: list[Future[list[Batch]]] = []
        for seed in seeds:  # whole seeds one after the other: a run that is cut has some of them
            waiting += [pool.submit(prove, load, seed, counted) for load in loads]
            if not asked.quick:
                waiting += [pool.submit(prove_shock, one, seed) for one in SHOCKS]
        for one in as_completed(waiting):
            batches += one.result()
            print(f"{len(batches) // 2} of {len(waiting)} done", file=sys.stderr, flush=True)
            batches.sort(key=lambda batch: (batch.scenario, batch.load, int(batch.seed)))
            _write(batches)
    print(table(batches))
    return 0


def _write(batches: Sequence[Batch]) -> None:
    """Write what is known so far: the whole takes long."""
    BUILD.mkdir(exist_ok=True)
    rows = json.dumps(report(batches), indent=1) + "\n"
    (BUILD / "promise.json").write_text(rows, encoding="utf-8")
    (BUILD / "promise.txt").write_text(table(batches), encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main())
