"""`make bench`: speed, memory, statements and bytes of the pages, as ratios within one run.

Prints a table and writes `build/bench.json`. Compare figures of one run only: machines differ.
"""

import json
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import asdict
from pathlib import Path
from typing import Any

from portal.store.sqlite_driver import driver
from tests.bench import servers
from tests.bench.craft_speed import measure_craft
from tests.bench.floors import floors, on_postgres
from tests.bench.forecasts import measure_forecasts
from tests.bench.pages import bytes_on_the_wire, real_draft, statements_per_page
from tests.bench.processor import measure_processor
from tests.bench.processor import tell as tell_processor
from tests.bench.scans import measure_scans
from tests.bench.slips import measure_pdf, measure_slips

HOUSE = Path(__file__).resolve().parents[2]
ROUNDS = 3
ITERATIONS = 10_000_000


def main() -> None:
    """Measure everything, print it, keep it."""
    begun = time.monotonic()
    found: dict[str, Any] = {"loop_s": [_loop()]}
    with tempfile.TemporaryDirectory(prefix="portal-bench-") as name:
        folder = Path(name)
        model = _demo_database(folder)
        here = floors(model, folder)
        found["load"] = _pages(here.copy(here.sixty), folder)
        found["load_of_many"] = _pages(f"sqlite:///{here.of_many}", folder)
        found["statements"] = statements_per_page(here.sixty, folder)
        found["scans"] = measure_scans(here.copy(here.crowd), folder)
        with on_postgres(here) as urls:
            found["scans_on_postgres"] = measure_scans(urls["crowd"], folder)
            found["processor"] = measure_processor(here, urls)
        found["slip_pdf"] = measure_pdf(model, folder)
        found["slip_reads"] = measure_slips(model, folder)
        found["forecast"] = measure_forecasts(model)
    found["appraise"] = _command_line()
    found["craft"] = measure_craft()
    found["loop_s"].append(_loop())
    found["minutes"] = round((time.monotonic() - begun) / 60, 1)
    (HOUSE / "build").mkdir(exist_ok=True)
    (HOUSE / "build" / "bench.json").write_text(json.dumps(found, indent=2) + "\n", "utf-8")
    _tell(found)


def _loop() -> float:
    """Return how many seconds of the processor a loop of ten million steps takes here."""
    began = time.process_time()
    for _ in range(ITERATIONS):
        pass
    return round(time.process_time() - began, 3)


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


def _token(url: str) -> str:
    with closing(driver.connect(url.removeprefix("sqlite:///"))) as link:
        row = link.execute("SELECT token FROM job WHERE state = 'in_work' LIMIT 1").fetchone()
    return str(row[0])


def _pages(database: str, data: Path) -> dict[str, Any]:
    """Load each page and the bare floor with a page of the same size, in turns.

    A machine that others share is twice as fast in one minute as in the next: each round is
    compared within itself, and the median of the rounds is reported. The order is a real one.
    """
    token = _token(database)
    out: dict[str, Any] = {}
    with servers.portal(data, database) as (url, pid):
        draft = real_draft(url)
        out["bytes"] = wire = bytes_on_the_wire(url, draft, token)
        addresses = {
            "start": (f"{url}/", pid),
            "parts": (f"{url}/o/{draft}/parts", pid),
            "day": (f"{url}/o/{draft}/day", pid),
            "status": (f"{url}/J/{token}", pid),
        }
        with servers.floor(Path(database.removeprefix("sqlite:///")), wire["status"]["plain"]) as (
            bare,
            bare_pid,
        ):
            addresses["floor"] = (f"{bare}/J/{token}", bare_pid)
            for address in addresses.values():
                servers.load(*address)  # both processes have made their first pages
            rounds = [
                {name: asdict(servers.load(*one)) for name, one in addresses.items()}
                for _ in range(ROUNDS)
            ]
        out["memory_mb"] = [round(mb, 1) for mb in servers.memory_mb(pid)]
    for name in addresses:
        for one in rounds:
            one[name]["of_floor"] = one[name]["per_second"] / one["floor"]["per_second"]
            one[name]["cpu_of_floor"] = one["floor"]["cpu_ms"] / max(0.01, one[name]["cpu_ms"])
        told = rounds[0][name]
        out[name] = {key: statistics.median(one[name][key] for one in rounds) for key in told}
    return out


def _tell(found: dict[str, Any]) -> None:
    print(f"a loop of ten million steps: {found['loop_s']} s; all took {found['minutes']} minutes")
    heads = ("req/s", "p50 ms", "p99 ms", "CPU ms", "of floor", "by CPU", "errors")
    print(f"{'':24}" + "".join(f"{head:>10}" for head in heads))
    for kind in ("load", "load_of_many"):
        for name in ("status", "start", "parts", "day", "floor"):
            row = found[kind][name]
            print(
                f"{name + ' ' + kind:24}{row['per_second']:>10.0f}{row['p50']:>10.1f}"
                f"{row['p99']:>10.1f}{row['cpu_ms']:>10.2f}{row['of_floor']:>10.2f}"
                f"{row['cpu_of_floor']:>10.2f}{row['errors']:>10.0f}"
            )
    many = found["load_of_many"]
    print("memory per process, MiB:", *many["memory_mb"])
    tell: Callable[..., None] = print
    for name, size in many["bytes"].items():
        statements = found["statements"].get(name, "-")
        tell(f"{name:12} {size['wire']:>7} B on the wire, {statements} SQL statements")
    tell_processor(found["processor"])
    for name in ("scans", "scans_on_postgres", "forecast", "appraise", "craft"):
        print(f"{name}:", json.dumps(found[name]))
    print("slip.pdf:", json.dumps(found["slip_pdf"]))
    print("slip reads:", json.dumps(found["slip_reads"]))


if __name__ == "__main__":
    main()
