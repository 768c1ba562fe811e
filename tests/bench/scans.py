"""How long a scan takes alone and beside who reads, on a floor of three hundred jobs, over HTTP.

The portal runs as in earnest: two processes, and the worker that forecasts after each scan. A
reader asks for one page after the other without a pause. Turns alternate, and each is compared
with its neighbour: a machine that others share is twice as fast in one minute as in the next.
"""

import shutil
import statistics
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import sqlalchemy as sa

from portal.shop.route import PartStage
from portal.store.tables import Part
from portal.web.kit.http import clock
from tests.bench import servers
from tests.cast import OFFICE, a_session
from tests.conftest import unit_at
from tests.load.browser import Browser
from tests.load.clients import TOKEN

TURNS, SCANS = 8, 5
READ_FOR_S = 120  # longer than a turn takes
FLOOR = "/counter/floor?at=coat"
LIMIT = 1.5  # of a scan alone
SEEN_OTHER = 303


def measure_scans(url: str, folder: Path) -> dict[str, dict[str, float]]:
    """Return, for each page that is read meanwhile, the ms of a scan alone and beside it."""
    unit = unit_at(url, clock)
    signed = a_session(unit, OFFICE)
    query = sa.select(Part.tag).where(Part.stage == PartStage.PREP, Part.tag.is_not(None))
    with unit.read() as session:
        tags = iter(session.scalars(query.order_by(Part.id.desc())).all())
    unit.close()
    cookies = {"staff": signed.key, "device": signed.device}
    with servers.portal(folder, url) as (address, _):
        staff = Browser([urlsplit(address).port], cookies)
        token = TOKEN.search(staff.get(FLOOR).get_data()).group(1)
        for _ in range(SCANS):  # both processes are warm
            staff.get(FLOOR)
            _scan(staff, token, next(tags))
        return {
            page: _in_turns(address + path, staff, token, tags)
            for page, path in {"floor": FLOOR, "today": "/counter/today"}.items()
        }


def _in_turns(page: str, staff: Browser, token: str, tags: Iterator[str]) -> dict[str, float]:
    alone, beside = [], []
    for _ in range(TURNS):
        alone.append(statistics.median(_scan(staff, token, next(tags)) for _ in range(SCANS)))
        with _reader(page, staff.cookies):
            beside.append(statistics.median(_scan(staff, token, next(tags)) for _ in range(SCANS)))
    ratios = [one / other for one, other in zip(beside, alone, strict=True)]
    return {
        "alone_ms": round(statistics.median(alone), 1),
        "beside_ms": round(statistics.median(beside), 1),
        "ratio": round(statistics.median(ratios), 2),
    }


def _scan(staff: Browser, token: str, tag: str) -> float:
    """Move a part on, and return how many ms it took until that was acknowledged."""
    sent = {"csrf_token": token, "where": f"floor:{PartStage.STRIP}", "q": tag}
    began = time.perf_counter()
    answer = staff.post("/counter/scan", sent)
    took = 1000 * (time.perf_counter() - began)
    assert answer.status_code == SEEN_OTHER, answer.status_code
    return took


@contextmanager
def _reader(page: str, cookies: dict[str, str]) -> Iterator[None]:
    """Let one client ask for a page again and again."""
    tool = shutil.which("wrk")
    assert tool, "wrk is missing; `make bench` installs it"
    cookie = "; ".join(f"{name}={value}" for name, value in cookies.items())
    reads = subprocess.Popen(
        [
            tool,
            "-t1",
            "-c1",
            f"-d{READ_FOR_S}s",
            "--timeout",
            "60s",
            "-H",
            f"Cookie: {cookie}",
            page,
        ],
        stdout=subprocess.DEVNULL,
    )
    try:
        time.sleep(0.3)  # the first page is being read
        yield
    finally:
        reads.terminate()
        reads.wait()
