"""`demo`: a database of its own with a week of jobs made relative to today, and where to look.

The demo's database belongs to the day on which it was made. On another day it is made anew; the
old file is kept beside it.
"""

from datetime import datetime, timedelta
from pathlib import Path
from random import Random

import sqlalchemy as sa

from portal.cli.demo_week import DemoClock, play
from portal.cli.opening import opened
from portal.notices.outbox import deliver_due
from portal.notices.transport import MemoryWire
from portal.orders.access.signing_in import add_person
from portal.orders.kernel.unit import UnitOfWork, open_unit
from portal.orders.office import seeding
from portal.orders.planning.forecasting import reforecast_all
from portal.settings import Settings
from portal.shop.roles import Role
from portal.store import migrations
from portal.store.tables import Job

PEOPLE = (
    ("office", "Orla", Role.OFFICE),
    ("counter", "Piet", Role.COUNTER),
    ("floor", "Sunniva", Role.FLOOR),
)
# the only password that is written down anywhere; `serve` never makes a person
PASSWORD = "demo ticket on the bench"  # noqa: S105  # printed at the start of a demo
SHOWN_STATE = "in_work"


def prepare(settings: Settings, *, today: datetime | None = None) -> str:
    """Make the demo's database where there is none of today; return what to print."""
    if today is None:
        with opened(settings) as unit:
            today = unit.now()
    _set_aside(settings, today)
    migrations.upgrade(settings.database_url)
    with opened(settings) as unit, unit.read() as session:
        filled = session.scalar(sa.select(sa.func.count()).select_from(Job)) or 0
    if not filled:
        _fill(settings, today)
    with opened(settings) as unit:
        return _where_to_look(unit, settings)


def _fill(settings: Settings, today: datetime) -> None:
    clock = DemoClock(today - timedelta(days=40))
    chance = DayChance(f"{today:%Y-%m-%d}")
    unit = open_unit(
        settings.database_url, now=clock.now, random_bytes=chance, base_url=settings.base_url
    )
    text = {
        p: (settings.seed_dir / p).read_text(encoding="utf-8") for p in ("shop.toml", "jobs.toml")
    }
    powders = (settings.seed_dir / "powders.csv").read_text(encoding="utf-8")
    seeding.import_shop(unit, text["shop.toml"], powders, at=clock.now())
    people = [
        add_person(unit, login=login, name=name, role=role, password=PASSWORD)
        for login, name, role in PEOPLE
    ]
    play(unit, clock, text["jobs.toml"], today, who=people[1])
    reforecast_all(unit)
    # so far nobody is written to: the week's letters count as sent, and can be read in the Books
    while deliver_due(unit, MemoryWire(), mail_from=settings.mail_from).sent:
        pass
    unit.close()


class DayChance:
    """Bytes that are the same all day, so that the demo can be made again alike.

    Good for a demo alone: its links can be guessed. `serve` draws from the operating system.
    """

    def __init__(self, seed: str) -> None:
        self._random = Random(seed)  # noqa: S311  # links of a demo may be guessed

    def __call__(self, count: int) -> bytes:
        """Return `count` bytes."""
        return self._random.randbytes(count)


def _set_aside(settings: Settings, today: datetime) -> None:
    """Rename a demo database of another day."""
    marker = settings.data_dir / "demo_day"
    day = f"{today:%Y-%m-%d}"
    made = marker.read_text(encoding="ascii") if marker.exists() else ""
    prefix = "sqlite:///"
    if made != day and settings.database_url.startswith(prefix):
        path = Path(settings.database_url.removeprefix(prefix))
        for suffix in ("", "-wal", "-shm", "-journal"):
            old = path.with_name(path.name + suffix)
            if old.exists() and suffix == "":
                old.replace(path.with_name(f"{path.stem}.old{path.suffix}"))
            elif old.exists():
                old.unlink()
    settings.data_dir.mkdir(parents=True, exist_ok=True)
    marker.write_text(day, encoding="ascii")


def _where_to_look(unit: UnitOfWork, settings: Settings) -> str:
    with unit.read() as session:
        query = sa.select(Job.token).where(Job.state == SHOWN_STATE).order_by(Job.id).limit(1)
        token = session.scalar(query)
    logins = " or ".join(login for login, _, _ in PEOPLE)
    return f"""
  Customers begin here    {settings.base_url}/
  A job in work           {settings.base_url}/J/{token}
  Staff sign in here      {settings.base_url}/counter/sign-in
                          {logins}, password: {PASSWORD}
  Letters can be read at  {settings.base_url}/books/letters
  Stop with Ctrl-C.
"""
