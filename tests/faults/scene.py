"""A works in the middle of its day: seeded, a portal over it, a mail server, clients at work."""

import itertools
import random
import re
import secrets
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TypeVar

import sqlalchemy as sa

from portal.notices.outbox import deliver_due
from portal.notices.transport import wire_for
from portal.orders.kernel.errors import Busy
from portal.orders.kernel.unit import UnitOfWork, open_unit
from portal.orders.office.seeding import import_shop
from portal.store import migrations
from portal.store.tables import Draft, Job, Letter, Tag
from tests.cast import add_staff
from tests.conftest import SEED
from tests.factories import Booked, a_booked_job, a_job_in_work, pass_checks
from tests.faults.clients import Client, Stopped, Work
from tests.faults.counted import faults_of
from tests.faults.people import CLIENTS, STATIONS, let_go
from tests.faults.post_office import PostOffice, post_office
from tests.faults.pressed import VERBS, Pressed
from tests.faults.server import Portal, wait_for
from tests.postgres import room

T = TypeVar("T")
PLACES = 12  # for as many customers a window has room
BOOKED_BEFORE = timedelta(days=2)
LATER = timedelta(days=8)  # than any step of the clock
ON_THE_FLOOR, AT_THE_COUNTER = range(1001, 1401), range(5001, 8001)  # tags


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

    def all_go_on(self, *, anew: bool = True, seconds: float = 300) -> bool:
        """Wait until each verb was acknowledged, once more than now (`anew`) or at all."""
        before = self.pressed.done() if anew else Counter[str]()
        return wait_for(
            lambda: all(self.pressed.done()[verb] > before[verb] for verb in VERBS), seconds
        )

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
        work.pass_checks = lambda code: _pass_checks(url, code, work)
        _put_jobs(url, jobs, work)
        try:
            yield Scene(kind, portal, office, work, random.Random(seed))
        finally:
            work.stop.set()
            portal.stop()


def seed_shop(url: str) -> None:
    """Bring a database to the newest form, with the shop, its people and its tags in it."""
    is_fresh = not migrations.current(url)
    migrations.upgrade(url)
    unit = unit_for(url, -BOOKED_BEFORE)
    if is_fresh:
        text = (SEED / "shop.toml").read_text("utf-8")
        text = re.sub(r"(?m)^(\[week\.drop_off\][^\[]*?^places = )2$", rf"\g<1>{PLACES}", text)
        import_shop(unit, text, (SEED / "powders.csv").read_text("utf-8"), at=unit.now())
    add_staff(unit)
    tags = [{"number": str(number)} for number in (*ON_THE_FLOOR, *AT_THE_COUNTER)]
    unit.write(lambda s: s.execute(sa.insert(Tag), tags))
    unit.close()


@cache
def _shop_file() -> bytes:
    """Return an SQLite database with the shop in it, which is made once a process."""
    with TemporaryDirectory(dir=room()) as name:
        path = Path(name) / "shop.sqlite3"
        seed_shop(f"sqlite:///{path}")
        return path.read_bytes()


def _has_our_tags(url: str) -> bool:
    unit = unit_for(url)
    with unit.read() as session:
        found = session.get(Tag, str(AT_THE_COUNTER[0]))
    unit.close()
    return found is not None


def _put_jobs(url: str, jobs: int, work: Work) -> None:
    """Put jobs on the floor, and twice as many into the books, to be checked in."""
    path = Path(url.removeprefix("sqlite:///"))
    if url.startswith("sqlite") and not path.exists():
        path.write_bytes(_shop_file())
    if not migrations.current(url) or not _has_our_tags(url):
        seed_shop(url)
    unit = unit_for(url, -BOOKED_BEFORE)
    on_the_floor = iter(ON_THE_FLOOR)
    for _ in range(jobs):
        first = next(on_the_floor)
        job = a_job_in_work(unit, first_tag=first)
        tags = [first, *itertools.islice(on_the_floor, 3)]
        pass_checks(unit, job)
        work.to_pay.append(job.code)
        for tag, station in itertools.product(tags, STATIONS):
            work.to_scan.put((str(tag), station))
    for _ in range(2 * jobs):
        job = a_booked_job(unit, dropoff=BOOKED_BEFORE + timedelta(hours=2))
        work.to_check_in.put(job.code)
    unit.close()


def _code(url: str, token: str, work: Work) -> str:
    """Return the code of the job whose draft was booked."""
    query = sa.select(Job.code).join(Draft, Draft.job_id == Job.id).where(Draft.token == token)

    def find(unit: UnitOfWork) -> str:
        with unit.read() as session:
            return str(session.scalars(query).one())

    return _without_the_portal(url, work, find)


def _pass_checks(url: str, code: str, work: Work) -> None:
    """Do the tests before the work of a job that was received."""
    query = sa.select(Job.id, Job.code, Job.token, Job.pickup_code).where(Job.code == code)

    def do(unit: UnitOfWork) -> None:
        with unit.read() as session:
            row = session.execute(query).one()
        pass_checks(unit, Booked(*row, part_ids=()))

    _without_the_portal(url, work, do)


def _without_the_portal(url: str, work: Work, do: Callable[[UnitOfWork], T]) -> T:
    """Do something with the database, when it lets us; nobody waits once the run is over."""
    unit = unit_for(url)
    try:
        while not work.stop.is_set():
            try:
                return do(unit)
            except (sa.exc.DBAPIError, Busy):  # a fault lasts
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
