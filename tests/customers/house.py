"""The portal that customers walk through: one app a process, a fresh copy of the shop for each.

A customer's shop is copied anew, so that a seed alone repeats what happened to him.
"""

import gc
import random
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from argon2 import PasswordHasher
from flask import Flask

from portal.orders.access import passwords
from portal.orders.kernel.unit import UnitOfWork
from portal.settings import Settings
from portal.web.app import create_app
from tests.cast import add_staff
from tests.conftest import BASE_URL, COMPILED, SEED, START, Clock, build, unit_at, unit_on
from tests.databases import Database, SqliteDatabase
from tests.page import CheckedClient


class House:
    """The running portal of this process, and its clock."""

    def __init__(self, app: Flask, clock: Clock, database: Database | None = None) -> None:
        self.app = app
        self.clock = clock
        self.database = database

    @property
    def unit(self) -> UnitOfWork:
        return self.app.extensions["unit"]

    def open_for(self, seed: int, at: datetime) -> None:
        """Set the clock and open a fresh shop, with a chance of its own."""
        assert self.database is not None
        self.database.end()
        self.clock.set(at)
        self.database.begin(may_copy=False)
        unit = self.database.unit(unit_on(self.database.engine, self.clock))
        unit.random_bytes = random.Random(f"chance {seed}").randbytes
        self.app.extensions["unit"] = unit

    def client(self) -> CheckedClient:
        """Return a browser with its own cookies."""
        client: Any = self.app.test_client()
        return client


def build_model(path: Path) -> None:
    """Build the demo's shop, with its staff, once for all customers."""
    build(
        f"sqlite:///{path}",
        (SEED / "shop.toml").read_text(encoding="utf-8"),
        (SEED / "powders.csv").read_text(encoding="utf-8"),
    )
    staff_it(path)


def staff_it(path: Path) -> None:
    """Add the people of the tests to a shop that is built."""
    unit = unit_at(f"sqlite:///{path}", Clock())
    add_staff(unit)
    unit.close()


@contextmanager
def house(model: Path, folder: Path) -> Iterator[House]:
    """Open the portal over copies of `model`, kept in `folder`."""
    clock = Clock()
    path = folder / "portal.sqlite3"
    database = SqliteDatabase(path, model)
    with _app(path, folder, clock) as app:
        # the app stays: looking through it again and again costs a tenth of the time
        gc.freeze()
        gc.set_threshold(200_000, 20, 50)
        yield House(app, clock, database)


@contextmanager
def _app(path: Path, folder: Path, clock: Clock) -> Iterator[Flask]:
    """Make the portal; a server error is answered as a customer would see it, not raised."""
    settings = Settings(
        database_url=f"sqlite:///{path}", base_url=BASE_URL, secret_key="for tests", data_dir=folder
    )
    app = create_app(settings, now=clock.now, random_bytes=random.Random("house").randbytes)
    app.jinja_env.bytecode_cache = COMPILED
    app.testing = False
    app.logger.disabled = True  # a server error makes its customer fall, and is told there
    yield app
    app.extensions["unit"].close()


def hash_quickly() -> None:
    """Hash passwords by the house's own rule, but quickly: staff sign in for every customer."""
    passwords._hasher = PasswordHasher(time_cost=1, memory_cost=64)


def a_day(rng: random.Random) -> datetime:
    """Return a moment on which a customer begins: any day and hour of a year."""
    return START + timedelta(days=rng.randrange(365), minutes=rng.randrange(24 * 60))
