"""What the pages that are served most cost the processor, in process, beside one that does nothing.

A floor of sixty jobs of five parts, alone and among a hundred thousand closed jobs, and one of
three hundred; both on PostgreSQL, too. Before each round a part is moved by a scan, so that no
page is the one of before. Times are the processor's, of the request alone; machines differ, so
compare with `bare` and within one run.
"""

import statistics
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import brotli
import sqlalchemy as sa

from portal.orders.kernel.unit import UnitOfWork
from portal.orders.planning.forecasting import reforecast_all
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Job, Part
from tests.bench.floors import Floors
from tests.cast import OFFICE, sign_in, token_of
from tests.conftest import settings_for
from tests.page import checked_client
from tests.web.walk import Customer

ROUNDS = 8
BOOKED = 303
# in ms, on an idle machine
AIMS = {"parts": 25, "day": 40, "floor": 40, "last_post": 60, "scan": 8, "floor_of_300": 120}
Figures = dict[str, float]


class Meter:
    """Stands before an app and notes what the last request cost the processor, in ms."""

    def __init__(self, app: Any) -> None:
        self.inner, self.last = app.wsgi_app, 0.0
        app.wsgi_app = self

    def __call__(self, environ: Any, start: Any) -> Iterable[bytes]:
        began = time.process_time()
        answer = list(self.inner(environ, start))
        self.last = 1000 * (time.process_time() - began)
        return answer


def measure_processor(floors: Floors, postgres: dict[str, str]) -> dict[str, Any]:
    """Return the cost of each page on each floor."""
    urls = {
        "60_jobs": floors.copy(floors.sixty),
        "60_jobs_of_many": f"sqlite:///{floors.of_many}",
        "300_jobs": floors.copy(floors.crowd),
        "60_on_postgres": postgres["sixty"],
        "300_on_postgres": postgres["crowd"],
    }
    return {"aims": AIMS} | {name: _measure(url, floors.folder) for name, url in urls.items()}


def _measure(url: str, folder: Path) -> dict[str, Figures]:
    from portal.web.app import create_app  # heavy, and only wanted here

    app = create_app(settings_for(url, folder))
    meter, unit = Meter(app), app.extensions["unit"]
    staff = sign_in(app, checked_client(app), OFFICE)
    with unit.read() as session:
        open_jobs = sa.select(Job.token).where(Job.state == JobState.IN_WORK)
        link = session.scalar(open_jobs.order_by(Job.id.desc()).limit(1))
    floor = staff.get("/counter/floor")
    first = meter.last  # with no card written yet
    scans = _scans(unit, staff, token_of(floor.get_data(as_text=True)))
    pages = {
        "bare": lambda _: staff.get("/healthz"),
        "scan": scans,
        "floor": lambda _: staff.get("/counter/floor?at=coat"),
        "find": lambda _: staff.get("/counter/find?q=Kim"),
        "today": lambda _: staff.get("/counter/today"),
        "office": lambda _: staff.get("/office/"),
        "status": lambda _: app.test_client().get(f"/J/{link}"),
        "start": lambda _: app.test_client().get("/"),
    }
    times: dict[str, list[float]] = {}
    for n in range(ROUNDS + 2):
        for name, ask in pages.items():
            assert ask(n).status_code in (200, 303), name
            times.setdefault(name, []).append(meter.last)
        reforecast_all(unit)  # as the worker does meanwhile
        for name, ms in _booking(app, meter, n).items():
            times.setdefault(name, []).append(ms)
    told = {name: statistics.median(all_[2:]) for name, all_ in times.items()}  # two to warm up
    figures = {
        name: {"cpu_ms": round(ms, 1), "of_bare": round(ms / told["bare"], 1)}
        for name, ms in told.items()
    }
    packed = brotli.compress(floor.get_data(), quality=5)
    figures["floor"] |= {"bytes": len(floor.get_data()), "packed": len(packed)}
    figures["floor"] |= {"first_ms": round(first, 1)}
    unit.close()
    return figures


def _scans(unit: UnitOfWork, staff: Any, token: str) -> Callable[[int], Any]:
    """Return what scans a part of the floor on to the next station, another one each time."""
    query = sa.select(Part.tag).where(Part.stage == PartStage.PREP, Part.tag.is_not(None))
    with unit.read() as session:
        tags = list(session.scalars(query.order_by(Part.id.desc())))

    def scan(n: int) -> Any:
        sent = {"csrf_token": token, "where": f"floor:{PartStage.STRIP}", "q": tags[n]}
        return staff.post("/counter/scan", data=sent)

    return scan


def _booking(app: Any, meter: Meter, n: int) -> Figures:
    """Walk from the first page to a booking; return what the pages on the way cost."""
    walker, found = Customer(checked_client(app)), {}
    for step in ("parts", "on-them", "comes-off", "finish", "day"):
        walker.walk_to(step)
        found[step.replace("-", "_")] = meter.last
    walker.walk_to("you")
    phone = f"07700 900{100 + n}"
    walker.send(name="Robin Sample", email=f"robin{n}@example.com", phone=phone)
    assert walker.book().status_code == BOOKED
    found["last_post"] = meter.last
    return found


def tell(found: dict[str, Any]) -> None:
    """Print a table: pages in rows, floors in columns."""
    floors = [name for name in found if name != "aims"]
    print(f"{'CPU ms':12}{'aim':>6}" + "".join(f"{name:>22}" for name in floors))
    for page in found[floors[0]]:
        row = "".join(f"{found[one][page]['cpu_ms']:>22}" for one in floors)
        print(f"{page:12}{AIMS.get(page, ''):>6}{row}")
    for name in ("60_jobs", "300_jobs"):
        floor = found[name]["floor"]
        print(
            f"the floor of {name}: {floor['packed']} B packed, {floor['bytes']} B plain; "
            f"the first one of a process {floor['first_ms']} ms"
        )
