"""How long the forecast takes and what memory it needs, for 30, 300 and 3,000 open jobs."""

import json
import re
import statistics
import subprocess
import sys
import time
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

COUNTS = (30, 300, 3_000)
ROUNDS = 5
SEED = 11


def measure_forecasts(database: Path) -> dict[str, dict[str, float]]:
    """Measure each count in a process of its own, so that the peak memory is its own."""
    found = {}
    for count in COUNTS:
        done = subprocess.run(
            [sys.executable, "-m", "tests.bench.forecasts", str(database), str(count)],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        found[f"{count}_jobs"] = json.loads(done.stdout)
    return found


def measure(database: Path, count: int) -> dict[str, float]:
    """Forecast `count` open jobs, copies of the demo's; then quote a date on that floor."""
    from portal.orders.kernel.unit import open_unit
    from portal.orders.planning.forecasting import open_jobs
    from portal.shop.scheduling.forecast import forecast_of, simulate_floor
    from portal.shop.scheduling.promising import Calibration, offers_on
    from portal.shop.scheduling.what_if import usual_order
    from portal.web.kit.http.clock import now

    url = f"sqlite:///{database}"
    unit = open_unit(url, now=now, random_bytes=lambda n: b"x" * n, base_url="http://x")
    with unit.read() as session:
        shop, real = unit.shop(session), open_jobs(session)
    at = now()
    jobs = [
        replace(one, job_id=1 + i, arrives_at=one.arrives_at + timedelta(minutes=7 * (i // 19)))
        for i, one in ((i, real[i % len(real)]) for i in range(count))
    ]
    again = _median(lambda: forecast_of(jobs, shop.stations, shop.week, at, seed=SEED))
    floor = simulate_floor(jobs, shop.stations, shop.week, at, seed=SEED)
    windows = shop.week.windows(shop.week.local(at).date(), 21)
    order = usual_order(jobs, at)
    quote = _median(lambda: offers_on(floor, order, windows, Calibration()))
    one = _median(lambda: offers_on(floor, order, windows[:1], Calibration()))
    # the kernel's own high-water mark; getrusage's outlives the program that started this one
    status = Path("/proc/self/status").read_text(encoding="ascii")
    peak = int(re.search(r"VmHWM:\s+(\d+) kB", status).group(1)) / 1024
    return {
        "forecast_ms": round(again, 1),
        "offer_of_one_time_ms": round(one, 1),
        "offers_of_three_weeks_ms": round(quote, 1),
        "peak_mb": round(peak, 1),
    }


def _median(work) -> float:
    work()
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()  # nobody else's: others may have the machine
        work()
        times.append((time.process_time() - start) * 1000)
    return statistics.median(times)


if __name__ == "__main__":
    print(json.dumps(measure(Path(sys.argv[1]), int(sys.argv[2]))))
