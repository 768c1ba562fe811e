"""What all tests share: a clock that can be set, a seeded database of each kind, the app.

The schema comes from the migrations and the shop from `demo_seed/`, built once a process; each
test begins with them (`tests/databases.py`), so commits, triggers and locks are the real ones.
"""

import gc
import os
import random
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import pytest
import sqlalchemy as sa
from argon2 import PasswordHasher
from jinja2.bccache import Bucket, BytecodeCache

from portal.store.engine import make_engine, make_sessions
from tests import run
from tests.databases import Database, PostgresDatabase, SqliteDatabase, known, named
from tests.deep import DEEP
from tests.postgres import cluster, room
from tests.quick import divide, is_quick, wrong
from tests.sharing_out import InRooms, turn

if TYPE_CHECKING:
    from flask import Flask

    from portal.orders.kernel.unit import UnitOfWork
    from portal.settings import Settings

HOUSE = Path(__file__).resolve().parent.parent
SEED = HOUSE / "demo_seed"
BASE_URL = "http://127.0.0.1:8000"
START = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)  # a Monday
# folders whose tests run on PostgreSQL too: all of them in every run, or some in a quick one
ALWAYS_ON_BOTH = ("store", "race")
ON_BOTH = (*ALWAYS_ON_BOTH, "orders", "notices", "day", "machine")


def pytest_configure() -> None:
    """Let the folders of tests lie in memory: a commit to a disk waits for the disk."""
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", room())
    run.begin()
    gc.disable()


def pytest_collection_finish() -> None:
    """Look for rubbish from now on: what has been made so far stays to the end."""
    gc.freeze()
    gc.set_threshold(200_000, 20, 50)
    gc.enable()


class Compiled(BytecodeCache):
    """Templates compiled by one app, for all the others of this run."""

    def load_bytecode(self, bucket: Bucket) -> None:
        found = run.read(self._name(bucket))
        if found is not None:
            bucket.bytecode_from_string(found)

    def dump_bytecode(self, bucket: Bucket) -> None:
        run.put(self._name(bucket), bucket.bytecode_to_string())

    @staticmethod
    def _name(bucket: Bucket) -> str:
        return f"template-{bucket.key}-{bucket.checksum}"


COMPILED = Compiled()


class Clock:
    """A clock that stands still until it is told otherwise."""

    def __init__(self) -> None:
        self.time = START

    def now(self) -> datetime:
        return self.time

    def set(self, moment: datetime) -> None:
        self.time = moment

    def advance(self, **by: float) -> datetime:
        self.time += timedelta(**by)
        return self.time


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> InRooms:
    config.option.loadscopereorder = False  # they come in the order of `FIRST`
    return InRooms(config, log)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if is_quick(config):
        items[:], left = divide(items)
        if config.args == ["tests"] and (faults := wrong(items, left)):
            raise pytest.UsageError("tests/quick.py: " + "; ".join(faults))
        config.hook.pytest_deselected(items=left)
    items.sort(key=turn)


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "database_of_test" in metafunc.fixturenames:
        kinds = ["sqlite", "postgres"] if on_both(metafunc.definition) else ["sqlite"]
        metafunc.parametrize("database_of_test", kinds, indirect=True)


def on_both(test: pytest.Function) -> bool:
    """Whether a test runs on PostgreSQL too.

    A quick run takes there the first test of each file, and those that are marked with `postgres`:
    what the two databases do each in its own way. Pages run there where they are marked.
    """
    folder = test.path.parent.name
    if folder == "web" and test.get_closest_marker("postgres") is not None:
        return True
    if folder not in ON_BOTH or DEEP or folder in ALWAYS_ON_BOTH:
        return folder in ON_BOTH
    first = next(name for name in vars(test.module) if name.startswith("test"))
    return test.originalname == first or test.get_closest_marker("postgres") is not None


@pytest.fixture(scope="session", autouse=True)
def quick_hashes() -> Iterator[None]:
    """Hash passwords by the house's own rule, but quickly: a run does so a thousand times."""
    from portal.orders.access import passwords

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(passwords, "_hasher", PasswordHasher(time_cost=1, memory_cost=64))
        yield


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture(scope="session")
def shop_text() -> str:
    return (SEED / "shop.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def powders_text() -> str:
    return (SEED / "powders.csv").read_text(encoding="utf-8")


def chance(seed: int = 1) -> Callable[[int], bytes]:
    """Random bytes that a test can repeat."""
    return random.Random(seed).randbytes


def build(url: str, shop_text: str, powders_text: str) -> None:
    """Migrate an empty database and put the shop into it."""
    from portal.orders.office.seeding import import_shop
    from portal.store import migrations

    migrations.upgrade(url)
    unit = unit_at(url, Clock())
    import_shop(unit, shop_text, powders_text, at=START - timedelta(days=30))
    unit.close()


def unit_at(url: str, clock: Clock, seed: int = 1) -> "UnitOfWork":
    """Return a unit with connections of its own, as another process has them."""
    return unit_on(make_engine(url), clock, seed)


def unit_on(engine: sa.Engine, clock: Clock, seed: int = 1) -> "UnitOfWork":
    from portal.orders.kernel.unit import UnitOfWork

    return UnitOfWork(
        sessions=make_sessions(engine),
        now=clock.now,
        random_bytes=chance(seed),
        base_url=BASE_URL,
    )


@pytest.fixture(scope="session")
def sqlite_model(shop_text: str, powders_text: str) -> Path:
    return run.made(
        "model.sqlite3", lambda path: build(f"sqlite:///{path}", shop_text, powders_text)
    )


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    with cluster() as url:
        yield url


@pytest.fixture(scope="session")
def sqlite_database(sqlite_model: Path) -> Iterator[Database]:
    """The SQLite database of this process."""
    with TemporaryDirectory(prefix="portal-db-", dir=room()) as folder:
        yield known(SqliteDatabase(Path(folder) / "portal.sqlite3", sqlite_model))


@pytest.fixture(scope="session")
def postgres_database(postgres_server: str, shop_text: str, powders_text: str) -> Database:
    """The PostgreSQL database of this process."""
    on_server(postgres_server, "CREATE DATABASE model")
    build(named(postgres_server, "model"), shop_text, powders_text)
    return known(PostgresDatabase(postgres_server, "model"))


def on_server(url: str, statement: str) -> None:
    """Run a statement that stands in no transaction."""
    engine = make_engine(url).execution_options(isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text(statement))
    engine.dispose()


@pytest.fixture
def database_of_test(request: pytest.FixtureRequest) -> Iterator[Database]:
    """The database of the kind asked for, with the shop in it and nothing else."""
    found: Database = request.getfixturevalue(f"{request.param}_database")
    # what is patched may change what a scene does: it is played anew
    found.begin(may_copy="monkeypatch" not in request.fixturenames)
    yield found
    found.end()


@pytest.fixture
def database(database_of_test: Database) -> str:
    """The URL of the test's database."""
    return database_of_test.url


@pytest.fixture
def unit(database_of_test: Database, clock: Clock) -> "UnitOfWork":
    return database_of_test.unit(unit_on(database_of_test.engine, clock))


@pytest.fixture
def settings(database: str, tmp_path: Path) -> "Settings":
    return settings_for(database, tmp_path)


def settings_for(url: str, folder: Path) -> "Settings":
    from portal.settings import Settings

    return Settings(
        database_url=url, base_url=BASE_URL, secret_key="only for tests", data_dir=folder
    )


@contextmanager
def an_app(settings: "Settings", clock: Clock) -> Iterator["Flask"]:
    """A portal of its own over `settings`, for who wires it differently."""
    from portal.web.app import create_app

    app = create_app(settings, now=clock.now, random_bytes=chance())
    app.testing = True
    app.jinja_env.bytecode_cache = COMPILED
    yield app
    app.extensions["unit"].close()


@pytest.fixture(scope="session")
def portal_of_process(
    sqlite_database: Database, tmp_path_factory: pytest.TempPathFactory
) -> Iterator["Flask"]:
    """The one portal that all tests of this process look at; `app` lends it."""
    from portal.web.kit.paper.pdf import Press

    settings = settings_for(sqlite_database.url, tmp_path_factory.mktemp("portal"))
    with an_app(settings, Clock()) as app:
        app.extensions["press"] = Press(app.extensions["assets"])
        gc.freeze()  # it stays: looking through it again and again costs a tenth of the time
        yield app


@pytest.fixture
def app(
    portal_of_process: "Flask", settings: "Settings", database_of_test: Database, clock: Clock
) -> Iterator["Flask"]:
    """The portal over the test's database; what a test changes on it is put back."""
    app = portal_of_process
    config, extensions = dict(app.config), dict(app.extensions)
    unit = database_of_test.unit(unit_on(database_of_test.engine, clock))
    app.extensions |= {"settings": settings, "unit": unit}
    yield app
    for held, was in ((app.config, config), (app.extensions, extensions)):
        held.clear()
        held.update(was)


@pytest.fixture
def client(app):
    """A customer's browser; every HTML page that it is served is checked as a page."""
    from tests.page import checked_client

    return checked_client(app)


@pytest.fixture
def staff_client(app):
    """A browser signed in as the office, who may open every page."""
    from tests.cast import sign_in
    from tests.page import checked_client

    return sign_in(app, checked_client(app))
