"""`make bench`: speed, memory, statements and bytes of the pages, as ratios within one run.

Prints a table and writes `build/bench.json`. Compare figures of one run only: machines differ.
"""

import json
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from portal.store.sqlite_driver import driver
from tests.bench import fill, servers
from tests.bench.craft_speed import measure_craft
from tests.bench.forecasts import measure_forecasts
from tests.bench.pages import bytes_on_the_wire, new_draft, statements_per_page
from tests.bench.processor import measure_processor
from tests.bench.processor import tell as tell_processor
from tests.bench.slips import measure_pdf, measure_slips

HOUSE = Path(__file__).resolve().parents[2]
FEW, MANY = 100, 100_000
ROUNDS = 5


def main() -> None:
    """Measure everything, print it, keep it."""
    found: dict[str, Any] = {}
    with tempfile.TemporaryDirectory(prefix="portal-bench-") as folder:
        model = _demo_database(Path(folder))
        for jobs in (FEW, MANY):
            database = Path(folder) / f"{jobs}.sqlite3"
            shutil.copy(model, database)
            fill.fill(database, jobs)
            found[f"{jobs}_jobs"] = _pages(database, Path(folder))
        found["statements"] = statements_per_page(database, Path(folder))
        found["processor"] = measure_processor(model, Path(folder))
        found["slip_pdf"] = measure_pdf(model, Path(folder))
        found["slip_reads"] = measure_slips(model, Path(folder))
        found["forecast"] = measure_forecasts(model)
    found["appraise"] = _command_line()
    found["craft"] = measure_craft()
    (HOUSE / "build").mkdir(exist_ok=True)
    (HOUSE / "build" / "bench.json").write_text(json.dumps(found, indent=2) + "\n", "utf-8")
    _tell(found)


def _demo_database(folder: Path) -> Path:
    from portal.cli.demo import prepare  # the command line is heavy, and only wanted here
    from portal.settings import Settings

    path = folder / "demo.sqlite3"
    prepare(
        Settings(
            database_url=f"sqlite:///{path}",
            base_url="http://127.0.0.1:8000",
            secret_key="for this measurement",
            data_dir=folder,
            demo=True,
        )
    )
    return path


def _command_line() -> dict[str, float]:
    """Return how long `appraise` takes to answer, beside a Python that does nothing."""
    order = str(HOUSE / "demo_seed" / "orders" / "four_bronze_wheels.toml")
    calls = {
        "appraise_ms": ["-m", "portal", "appraise", order, "--json"],
        "bare_python_ms": ["-c", "pass"],
    }
    found = {}
    for name, call in calls.items():
        took = []
        for _ in range(5):
            begun = time.perf_counter()
            subprocess.run([sys.executable, *call], cwd=HOUSE, check=True, capture_output=True)
            took.append(1000 * (time.perf_counter() - begun))
        found[name] = round(statistics.median(took), 1)
    return found


def _token(database: Path) -> str:
    with driver.connect(database) as link:
        row = link.execute("SELECT token FROM job WHERE state = 'in_work' LIMIT 1").fetchone()
    link.close()
    return str(row[0])


def _pages(database: Path, data: Path) -> dict[str, Any]:
    """Load each page and the floor with a page of the same size, in turns, on the same machine.

    A machine that others share is twice as fast in one minute as in the next: each round is
    compared within itself, and the median of the rounds is told.
    """
    token = _token(database)
    out: dict[str, Any] = {}
    with servers.portal(data, f"sqlite:///{database}") as (url, pid):
        draft = new_draft(url)
        out["bytes"] = wire = bytes_on_the_wire(url, draft, token)
        addresses = {
            "start": f"{url}/",
            "parts": f"{url}/o/{draft}/parts",
            "status": f"{url}/J/{token}",
        }
        with servers.floor(database, wire["status"]["plain"]) as (bare, _):
            addresses["floor"] = f"{bare}/J/{token}"
            rounds = [
                {name: asdict(servers.load(one)) for name, one in addresses.items()}
                for _ in range(ROUNDS)
            ]
        out["memory_mb"] = [round(mb, 1) for mb in servers.memory_mb(pid)]
    for name in addresses:
        for one in rounds:
            one[name]["of_floor"] = one[name]["per_second"] / one["floor"]["per_second"]
        told = rounds[0][name]
        out[name] = {key: statistics.median(one[name][key] for one in rounds) for key in told}
    return out


def _tell(found: dict[str, Any]) -> None:
    print(f"{'':10}{'jobs':>9}{'req/s':>9}{'p50 ms':>9}{'p99 ms':>9}{'of floor':>10}{'errors':>8}")
    for jobs in (FEW, MANY):
        for name in ("status", "start", "parts", "floor"):
            row = found[f"{jobs}_jobs"][name]
            print(
                f"{name:10}{jobs:>9}{row['per_second']:>9.0f}{row['p50']:>9.1f}{row['p99']:>9.1f}"
                f"{row.get('of_floor', 1.0):>10.2f}{row['errors']:>8}"
            )
    many = found[f"{MANY}_jobs"]
    print("memory per process, MiB:", *many["memory_mb"])
    tell: Callable[..., None] = print
    for name, size in many["bytes"].items():
        statements = found["statements"].get(name, "-")
        tell(f"{name:12} {size['wire']:>7} B on the wire, {statements} SQL statements")
    tell_processor(found["processor"])
    print("forecast:", json.dumps(found["forecast"]))
    print("command line:", json.dumps(found["appraise"]))
    print("craft:", json.dumps(found["craft"]))
    print("slip.pdf:", json.dumps(found["slip_pdf"]))
    print("slip reads:", json.dumps(found["slip_reads"]))


if __name__ == "__main__":
    main()
