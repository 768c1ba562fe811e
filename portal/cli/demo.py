"""`demo`: a database of its own with a week of jobs made relative to today, and where to look.

The demo's database belongs to the day on which it was made. On another day it is made anew; the
old file is kept beside it.
"""

from datetime import datetime, timedelta
from pathlib import Path
from random import Random

import sqlalchemy as sa

from portal.cli.demo_week import DemoClock, play
from portal.cli.opening import bring_up, opened
from portal.craft.messages import Message
from portal.notices.outbox import deliver_due
from portal.notices.transport import MemoryWire
from portal.orders.access.signing_in import add_person
from portal.orders.kernel.unit import open_unit
from portal.orders.office import seeding
from portal.orders.planning.forecasting import reforecast_all
from portal.render.reader import Reader
from portal.render.text import render
from portal.settings import Settings
from portal.shop.roles import Role
from portal.store.tables import Job
from portal.web.kit.http.clock import now

PEOPLE = (
    ("office", "Orla", Role.OFFICE),
    ("counter", "Piet", Role.COUNTER),
    ("floor", "Sunniva", Role.FLOOR),
)
LOGINS = ", ".join(login for login, _, _ in PEOPLE)
# the only password that is written down anywhere; `serve` never makes a person
PASSWORD = "demo ticket on the bench"  # noqa: S105  # printed at the start of a demo
SHOWN_STATE = "in_work"


def prepare(settings: Settings, *, today: datetime | None = None) -> None:
    """Make the demo's database where there is none of today."""
    today = today or now()
    _set_aside(settings, today)
    bring_up(settings)
    with opened(settings) as unit, unit.read() as session:
        filled = session.scalar(sa.select(sa.func.count()).select_from(Job)) or 0
    if not filled:
        _fill(settings, today)


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
    # so far nobody is written to: the week's letters count as sent, and can be read in the office
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


def where_to_look(settings: Settings, reader: Reader) -> str:
    """Return what a demo prints: its addresses, and who can sign in."""
    with opened(settings) as unit, unit.read() as session:
        query = sa.select(Job.token).where(Job.state == SHOWN_STATE).order_by(Job.id).limit(1)
        token = session.scalar(query)
    url = settings.base_url
    rows: tuple[tuple[Message | None, Message | str], ...] = (
        (Message("Customers begin here"), f"{url}/"),
        (Message("A job in work"), f"{url}/J/{token}"),
        (Message("Staff sign in here"), f"{url}/counter/sign-in"),
        (None, Message("{names}, password: {password}", names=LOGINS, password=PASSWORD)),
        (Message("Letters can be read at"), f"{url}/office/letters"),
    )
    words = [(render(left, reader) if left else "", render(right, reader)) for left, right in rows]
    wide = max(len(left) for left, _ in words) + 2
    lines = [f"  {left:{wide}}{right}" for left, right in words]
    return "\n".join(["", *lines, f"  {render(Message('Stop with Ctrl-C.'), reader)}", ""])
