"""A works in the middle of its day: seeded, a portal over it, a mail server, clients at work."""

import random
import re
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import sqlalchemy as sa

from portal.notices.outbox import deliver_due
from portal.notices.transport import wire_for
from portal.orders.kernel.unit import UnitOfWork, open_unit
from portal.orders.office.seeding import import_shop
from portal.store import migrations
from portal.store.tables import Draft, Job, Letter, Tag
from tests.cast import add_staff
from tests.conftest import SEED
from tests.factories import a_job_in_work, pass_checks
from tests.faults.clients import CLIENTS, Client, Stopped, Work, let_go
from tests.faults.counted import faults_of
from tests.faults.post_office import PostOffice, post_office
from tests.faults.pressed import Pressed
from tests.faults.server import Portal, wait_for

PLACES = 12  # for as many customers a window has room
BOOKED_BEFORE = timedelta(days=2)
LATER = timedelta(days=8)  # than any step of the clock
STATIONS = ("blast", "coat")


class Standing:
    """The time now, some days ago or later: for what is done without the portal."""

    def __init__(self, by: timedelta = timedelta()) -> None:
        self.by = by

    def now(self) -> datetime:
        return datetime.now(UTC) + self.by  # noqa: TID251  # the portal runs by the real clock


def unit_for(url: str, by: timedelta = timedelta()) -> UnitOfWork:
    """Return a unit of this process over the portal's database."""
    clock = Standing(by)
    return open_unit(url, now=clock.now, random_bytes=secrets.token_bytes, base_url="http://x")


@dataclass
class Scene:
    """A portal under faults."""

    kind: str
    portal: Portal
    office: PostOffice
    work: Work
    chance: random.Random
    clients: list[Client] = field(default_factory=list)

    @property
    def url(self) -> str:
        return self.portal.database_url

    @property
    def pressed(self) -> Pressed:
        return self.work.pressed

    def begin(self, clients: tuple[type[Client], ...] = CLIENTS) -> None:
        self.portal.start()
        self.clients = let_go(self.work, clients)

    def acknowledged(self) -> int:
        return sum(one.acknowledged for one in self.pressed.all)

    def goes_on(self, more: int = 3, seconds: float = 90) -> bool:
        """Wait until so many more presses were acknowledged; whether they were."""
        before = self.acknowledged()
        return wait_for(lambda: self.acknowledged() >= before + more, seconds)

    def end(self) -> list[str]:
        """Let everybody go home, send what waits, stop the portal and count."""
        self.work.stop.set()
        for one in self.clients:
            one.thread.join(60)
        left = [one.name for one in self.clients if one.thread.is_alive()]
        self.portal.stop()
        self._deliver()
        unit = unit_for(self.url)
        try:
            return faults_of(unit, self.pressed, self.office) + [f"{n} hangs" for n in left]
        finally:
            unit.close()

    def _deliver(self) -> None:
        """Send what waits as on another day, when claims and pauses are over."""
        unit = unit_for(self.url, LATER)
        wire = wire_for(self.office.url)
        while deliver_due(unit, wire, mail_from="works@example.com").sent:
            pass
        unit.close()

    def letters_twice(self) -> int:
        return sum(times > 1 for times in self.office.taken.values())


@contextmanager
def scene(
    kind: str, url: str, folder: Path, *, jobs: int = 8, seed: int = 1, planted: str = ""
) -> Iterator[Scene]:
    """Yield a works over an empty database at `url`, with so many jobs on the floor."""
    pressed = Pressed()
    folder.mkdir(parents=True, exist_ok=True)
    with post_office() as office:
        portal = Portal(url, folder, smtp_url=office.url, planted=planted)
        work = Work(portal.url, pressed)
        work.code_of = lambda token: _code(url, token, work)
        for code, tag in _seed(url, jobs):
            work.to_pay.append(code)
            for station in STATIONS:
                work.to_scan.put((tag, station))
        try:
            yield Scene(kind, portal, office, work, random.Random(seed))
        finally:
            work.stop.set()
            portal.stop()


def _seed(url: str, jobs: int) -> list[tuple[str, str]]:
    """Make the shop, its people and its tags, and put jobs on the floor; return codes and tags."""
    fresh = not migrations.current(url)
    migrations.upgrade(url)
    unit = unit_for(url, -BOOKED_BEFORE)
    if fresh:
        text = (SEED / "shop.toml").read_text("utf-8")
        text = re.sub(r"(?m)^(\[week\.drop_off\][^\[]*?^places = )2$", rf"\g<1>{PLACES}", text)
        import_shop(unit, text, (SEED / "powders.csv").read_text("utf-8"), at=unit.now())
    add_staff(unit)
    tags = [*range(1001, 1001 + 4 * jobs), *range(5001, 8001)]
    unit.write(lambda s: s.execute(sa.insert(Tag), [{"number": str(n)} for n in tags]))
    found = []
    for number in range(jobs):
        job = a_job_in_work(unit, first_tag=1001 + 4 * number)
        pass_checks(unit, job)
        found += [(job.code, str(1001 + 4 * number + part)) for part in range(4)]
    unit.close()
    return found


def _code(url: str, token: str, work: Work) -> str:
    """Return the code of the job whose draft was booked; nobody waits once the run is over."""
    unit = unit_for(url)
    query = sa.select(Job.code).join(Draft, Draft.job_id == Job.id).where(Draft.token == token)
    try:
        while not work.stop.is_set():
            try:
                with unit.read() as session:
                    return str(session.scalars(query).one())
            except sa.exc.DBAPIError:  # a fault lasts
                time.sleep(0.1)
    finally:
        unit.close()
    raise Stopped


def waiting(url: str) -> int:
    """Return how many letters wait."""
    unit = unit_for(url)
    with unit.read() as session:
        count = session.scalar(sa.select(sa.func.count()).where(Letter.state == "queued"))
    unit.close()
    return int(count or 0)
