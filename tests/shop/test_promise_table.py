"""What `make bench-promise` says: contestants at the same share of kept promises, and its files."""

import json
from dataclasses import replace

import numpy as np
import pytest

from tests.bench import promise
from tests.bench.compare import ALL, Batch, Said, gap_closed, pooled, rows_of
from tests.bench.sim_orders import DAY

FLOW = np.arange(1.0, 21.0) * 60  # twenty orders, ready after one hour, two hours … twenty hours


def a_batch(seed: str = "1") -> Batch:
    # one lead for everybody keeps 19 of 20 at nineteen hours
    constant = Said(np.full(20, 3000.0), FLOW)
    # who knows the order of the ready times, but is six hours off, needs those six hours
    ours = Said(FLOW - 360, FLOW)
    known = Said(FLOW + 120, FLOW)
    return Batch(
        "usual",
        0.75,
        seed,
        ["set"] * 10 + ["few parts"] * 10,
        np.array([0.0, 1.0, 3.0, 7.0, 12.0] * 4),
        np.arange(20) * DAY,
        ours,
        told=known,
        changed=np.array([True] + [False] * 19),
        rivals={"constant": constant, "twice": replace(constant, lead=np.full(20, 6000.0))},
    )


def test_contestants_are_compared_at_the_same_share_of_kept_promises():
    (whole,) = (row for row in rows_of(a_batch()) if all_of(row))
    assert whole["best_rival_hours"] == 19.0
    assert whole["mean_quoted_hours"] == whole["told_future_hours"] == 10.5
    assert whole["gap_closed"] == 1.0
    # what was really promised says how many were kept, and how late the others are
    assert whole["kept"] == 0.0
    assert whole["late_p99_hours"] == 6.0
    assert whole["dates_changed"] == 0.05


def test_the_gap_is_the_way_from_the_best_rival_to_who_knows_the_later_customers():
    assert gap_closed(22.0, 25.0, 20.0) == pytest.approx(0.6)
    assert gap_closed(26.0, 25.0, 20.0) == pytest.approx(-0.2)
    assert gap_closed(22.0, 20.05, 20.0) is None


def test_every_class_and_horizon_that_has_an_order_has_a_row():
    rows = rows_of(pooled([a_batch("1"), a_batch("2")], ALL))
    assert {row["n"] for row in rows if all_of(row)} == {40}
    assert {row["class"] for row in rows} == {ALL, "set", "few parts"}
    assert {row["horizon"] for row in rows} == {ALL, "0-2", "2-5", "5-10", "10+"}
    assert [row["n"] for row in rows if row["quoted_at"] == "door"] == [8]


def test_a_run_that_is_cut_leaves_the_rows_and_the_table_of_what_is_done(tmp_path, monkeypatch):
    monkeypatch.setattr(promise, "BUILD", tmp_path / "build")
    for n in (1, 2):
        promise._write([a_batch(str(one)) for one in range(n)])
        rows = json.loads((tmp_path / "build" / "promise.json").read_text("utf-8"))
        assert {row["seed"] for row in rows} == {*map(str, range(n)), ALL}
        table = (tmp_path / "build" / "promise.txt").read_text("utf-8")
        assert f"({n} seeds)" in table
        assert "gap closed 1.00" in table


def all_of(row: dict[str, object]) -> bool:
    return row["quoted_at"] == row["class"] == row["horizon"] == ALL
