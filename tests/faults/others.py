"""Faults around the portal: disks, clocks, a database that is gone or held."""

import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from functools import cache
from pathlib import Path

from portal.store.engine import make_engine
from portal.store.sqlite_driver import driver
from tests.conftest import on_server
from tests.databases import named
from tests.faults.browser import Browser, Gone
from tests.faults.disks import SmallDisk, small_disk
from tests.faults.post_office import Mood
from tests.faults.rows import Row, row_of
from tests.faults.scene import Scene, scene, seed_shop
from tests.faults.server import wait_for
from tests.postgres import SAFE, Cluster, running_cluster

QUARTER, HOUR, DAY = 900, 3_600, 86_400
STEPS_S = (HOUR, -HOUR, 3 * DAY, 0, -DAY, 90, 0)
HELD_S = 25
SQLITE, POSTGRES = "SQLite", "PostgreSQL"
Breaks = Callable[[Scene], None]


def _row(fault: str, here: Scene, times: int, breaks: Breaks) -> Row:
    """Let clients work, break something, mend it, wait until each verb is done again, and count."""
    here.begin()
    if not here.goes_on(3):
        return row_of(fault, here, 0, ["nobody got on before the fault"])
    breaks(here)
    again = here.all_go_on()
    faults = here.end()
    if not again:
        faults.append("not every verb was done again after the fault")
    return row_of(fault, here, times, faults)


def refused_for_a_while(here: Scene, seconds: float = 5, ready: tuple[int, ...] = (503,)) -> None:
    """Wait until presses were refused with 503, and look at a page meanwhile."""
    before = sum(here.pressed.unavailable.values())
    if not wait_for(lambda: sum(here.pressed.unavailable.values()) > before, 60):
        here.pressed.broken.append("nobody was told that nothing was booked")
    _look(here, ready)
    time.sleep(seconds)


def _look(here: Scene, ready: tuple[int, ...]) -> None:
    """A page answers while the fault lasts, and the health page says that something is wrong."""
    browser = Browser(here.portal.url)
    for path, good in (("/", (200, 503)), ("/healthz", (200,)), ("/readyz", ready)):
        try:
            status = browser.get(path).status
        except Gone as gone:
            here.pressed.broken.append(f"{path}: no answer ({gone})")
        else:
            if status not in good:
                here.pressed.broken.append(f"{path} answered {status} during the fault")


def full_disk_sqlite(folder: Path) -> Row:
    with small_disk(folder / "disk", 40) as disk:
        url = f"sqlite:///{disk.folder}/portal.sqlite3"
        with scene(SQLITE, url, folder / "data") as here:
            return _row("disk full", here, 1, lambda one: _full(one, disk))


def _full(here: Scene, disk: SmallDisk) -> None:
    disk.fill()
    refused_for_a_while(here)
    disk.empty()


def read_only_sqlite(folder: Path) -> Row:
    def breaks(here: Scene) -> None:
        for how in ("ro", "rw"):
            here.portal.stop()
            disk.read_only(how)
            here.portal.start()
            if how == "ro":
                refused_for_a_while(here)

    with small_disk(folder / "disk", 40) as disk:
        url = f"sqlite:///{disk.folder}/portal.sqlite3"
        with scene(SQLITE, url, folder / "data") as here:
            return _row("read-only", here, 1, breaks)


def clock_steps(kind: str, url: str, folder: Path) -> Row:
    def breaks(here: Scene) -> None:
        for step in STEPS_S:
            here.portal.clock.write_text(str(step), "ascii")
            if not here.goes_on(4):
                here.pressed.broken.append(f"nobody got on with a clock {step} s off")

    with scene(kind, url, folder) as here:
        return _row("clock steps", here, len(STEPS_S), breaks)


def mail_server(kind: str, url: str, folder: Path) -> Row:
    """The mail server has every mood in turn; put-off letters are due again a quarter later."""

    def breaks(here: Scene) -> None:
        for number, mood in enumerate(Mood):
            before = here.office.met[mood]
            here.office.mood = mood
            here.portal.clock.write_text(str(number * QUARTER), "ascii")
            if not wait_for(lambda: here.office.met[mood] > before):  # noqa: B023
                here.pressed.broken.append(f"the mail server was never met when it {mood}")
            if not here.goes_on(1):
                here.pressed.broken.append(f"nobody got on while the mail server {mood}")
        here.office.mood = Mood.TAKES

    with scene(kind, url, folder) as here:
        return _row("mail server refuses, stalls, drops", here, len(Mood), breaks)


def held_sqlite(folder: Path) -> Row:
    def breaks(here: Scene) -> None:
        path = here.url.removeprefix("sqlite:///")
        with closing(driver.connect(path, timeout=30, isolation_level=None)) as other:
            other.execute("BEGIN EXCLUSIVE")
            time.sleep(HELD_S)
            other.execute("ROLLBACK")

    url = f"sqlite:///{folder}/portal.sqlite3"
    with scene(SQLITE, url, folder / "data") as here:
        return _row(f"held by another for {HELD_S} s", here, 1, breaks)


def held_postgres(server: Cluster, folder: Path) -> Row:
    def breaks(here: Scene) -> None:
        engine = make_engine(here.url)
        with engine.begin() as connection:
            connection.exec_driver_sql("LOCK TABLE job IN ACCESS EXCLUSIVE MODE")
            time.sleep(HELD_S)
        engine.dispose()

    with scene(POSTGRES, database_of(server, "held"), folder) as here:
        return _row(f"held by another for {HELD_S} s", here, 1, breaks)


def killed_postgres(server: Cluster, folder: Path, times: int = 3) -> Row:
    def breaks(here: Scene) -> None:
        for _ in range(times):
            server.kill()
            refused_for_a_while(here, 1)
            server.start()
            here.goes_on(3)

    with scene(POSTGRES, database_of(server, "killed"), folder) as here:
        return _row("database killed and back", here, times, breaks)


def full_disk_postgres(folder: Path) -> Row:
    def breaks(here: Scene) -> None:
        disk.fill()
        # the small row that the health page writes may still fit into what the server has reserved
        refused_for_a_while(here, ready=(200, 503))
        disk.empty()
        server.stop()
        server.start()

    with (
        small_disk(folder / "disk", 160) as disk,
        running_cluster((*SAFE, "max_wal_size=32MB", "min_wal_size=32MB"), disk.folder) as server,
        scene(POSTGRES, database_of(server, "full_disk"), folder / "data") as here,
    ):
        return _row("disk full", here, 1, breaks)


def database_of(server: Cluster, name: str) -> str:
    """Make a database on a server, with the shop in it, and return its URL.

    Its files are copied after a checkpoint: copied by the log alone, a sequence is told to the log
    too late, and gives numbers twice when the server is killed soon after.
    """
    shop = _shop_on(server.url)
    on_server(server.url, f"CREATE DATABASE {name} TEMPLATE {shop} STRATEGY FILE_COPY")
    return named(server.url, name)


@cache
def _shop_on(server_url: str) -> str:
    """Return a database of this server with the shop in it, which is made once."""
    on_server(server_url, "CREATE DATABASE only_the_shop")
    seed_shop(named(server_url, "only_the_shop"))
    return "only_the_shop"


@contextmanager
def safe_server() -> Iterator[Cluster]:
    """A PostgreSQL that keeps what it acknowledged when it is killed."""
    with running_cluster(SAFE) as found:
        yield found
