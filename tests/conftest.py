"""What all tests share: a clock that can be set, a seeded database of each kind, the app.

The schema comes from the migrations and the shop from `demo_seed/`, built once a run; each test
gets a copy of its own (a file copy on SQLite, a template database on PostgreSQL), so commits,
triggers and locks are the real ones.
"""

import itertools
import random
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import pytest
import sqlalchemy as sa
from argon2 import PasswordHasher
from hypothesis import settings as hypothesis_settings
from jinja2.bccache import Bucket, BytecodeCache
from sqlalchemy.dialects.postgresql.psycopg import PGDialect_psycopg
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from werkzeug.routing import Rule
from xdist.scheduler import LoadScopeScheduling

from tests.postgres import cluster, room

if TYPE_CHECKING:
    from flask import Flask

    from portal.settings import Settings

HOUSE = Path(__file__).resolve().parent.parent
SEED = HOUSE / "demo_seed"
START = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)  # a Monday
ON_BOTH = ("orders", "store", "notices", "race")
LAYOUT = "tests/browser/layout/test_"
TOGETHER = {
    # the catalogue of all pages is taken once
    f"{LAYOUT}every_page.py": "catalogue",
    f"{LAYOUT}valid_html.py": "catalogue",
    f"{LAYOUT}weight.py": "catalogue",
    f"{LAYOUT}longer_words.py": "german",
    f"{LAYOUT}judges.py": "judges",
    "tests/house/test_demo.py": "demo",
    "tests/customers/test_customers.py": "customers",  # they walk once
}
# an example that takes long on a busy machine is not wrong
hypothesis_settings.register_profile("by no clock", deadline=None)
hypothesis_settings.load_profile("by no clock")
_numbers = itertools.count(1)


class Compiled(BytecodeCache):
    """Templates compiled by one app, for all the others of this process."""

    def __init__(self) -> None:
        self.codes: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if bucket.key + bucket.checksum in self.codes:
            bucket.bytecode_from_string(self.codes[bucket.key + bucket.checksum])

    def dump_bytecode(self, bucket: Bucket) -> None:
        self.codes[bucket.key + bucket.checksum] = bucket.bytecode_to_string()


COMPILED = Compiled()


_BUILDERS: dict[Any, Any] = {}
_compile_builder = Rule._compile_builder


def builder_once(rule: Rule, append_unknown: bool = True) -> Any:
    """Compile what builds an address once for all apps: a run makes some thousand of them.

    What is compiled hangs on the rule's own text alone; the rule itself is bound to it later.
    """
    if rule.defaults:
        return _compile_builder(rule, append_unknown)
    key = (rule.rule, tuple(rule._trace), append_unknown)
    if key not in _BUILDERS:
        _BUILDERS[key] = _compile_builder(rule, append_unknown)
    return _BUILDERS[key]


Rule._compile_builder = builder_once  # type: ignore[method-assign]  # for the tests alone


_STATEMENTS: dict[str, Any] = {}
_make_engine = sa.Engine.__init__


def engine_of_many(engine: sa.Engine, *told: Any, **named: Any) -> None:
    """Let all engines of a kind share the statements that one has compiled.

    A run makes thousands of engines, each for its own copy of a database, and all alike.
    """
    _make_engine(engine, *told, **named)
    kind = engine.dialect.name
    engine._compiled_cache = _STATEMENTS.setdefault(kind, engine._compiled_cache)


sa.Engine.__init__ = engine_of_many  # type: ignore[method-assign]  # for the tests alone
for _kind in (SQLiteDialect_pysqlite, PGDialect_psycopg):
    # compiled statements are kept by dialect, and any two of a kind are alike here
    _kind.__hash__ = lambda self: hash(type(self))  # type: ignore[method-assign]
    _kind.__eq__ = lambda self, other: type(self) is type(other)  # type: ignore[method-assign]


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


class InRooms(LoadScopeScheduling):
    """Shares tests out one by one, but what lives on one costly fixture goes to one process."""

    def _split_scope(self, nodeid: str) -> str:
        return TOGETHER.get(nodeid.partition("::")[0], nodeid)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> InRooms:
    return InRooms(config, log)


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "database" in metafunc.fixturenames:
        folder = Path(str(metafunc.definition.path)).parent.name
        kinds = ["sqlite", "postgresql"] if folder in ON_BOTH else ["sqlite"]
        metafunc.parametrize("database", kinds, indirect=True)


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


def unit_at(url: str, clock: Clock, seed: int = 1):
    from portal.orders.kernel.unit import UnitOfWork
    from portal.store.engine import make_engine, make_sessions

    return UnitOfWork(
        sessions=make_sessions(make_engine(url)),
        now=clock.now,
        random_bytes=chance(seed),
        base_url="http://127.0.0.1:8000",
    )


@pytest.fixture(scope="session")
def sqlite_model(
    tmp_path_factory: pytest.TempPathFactory, shop_text: str, powders_text: str
) -> Path:
    path = tmp_path_factory.mktemp("model") / "model.sqlite3"
    build(f"sqlite:///{path}", shop_text, powders_text)
    return path


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    with cluster() as url:
        yield url


@pytest.fixture(scope="session")
def postgres_model(postgres_server: str, shop_text: str, powders_text: str) -> str:
    _on_server(postgres_server, "CREATE DATABASE model")
    build(_named(postgres_server, "model"), shop_text, powders_text)
    return "model"


def _named(url: str, name: str) -> str:
    return url.rsplit("/", 1)[0] + "/" + name


def _on_server(url: str, statement: str) -> None:
    engine = sa.create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text(statement))
    engine.dispose()


@pytest.fixture
def database(request: pytest.FixtureRequest) -> Iterator[str]:
    """The URL of a fresh, migrated and seeded database of the kind asked for."""
    if request.param == "sqlite":
        with TemporaryDirectory(prefix="portal-db-", dir=room()) as folder:
            path = Path(folder) / "portal.sqlite3"
            shutil.copy(request.getfixturevalue("sqlite_model"), path)
            yield f"sqlite:///{path}"
        return
    server = request.getfixturevalue("postgres_server")
    model = request.getfixturevalue("postgres_model")
    name = f"t{next(_numbers)}"
    _on_server(server, f"CREATE DATABASE {name} TEMPLATE {model} STRATEGY FILE_COPY")
    yield _named(server, name)
    _on_server(server, f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")


@pytest.fixture
def unit(database: str, clock: Clock):
    unit = unit_at(database, clock)
    yield unit
    unit.close()


@pytest.fixture
def settings(database: str, tmp_path: Path):
    from portal.settings import Settings

    return Settings(
        database_url=database,
        base_url="http://127.0.0.1:8000",
        secret_key="only for tests",
        data_dir=tmp_path,
    )


@contextmanager
def an_app(settings: "Settings", clock: Clock) -> Iterator["Flask"]:
    """The portal over `settings`; its connections are closed again: a run would have none left."""
    from portal.web.app import create_app

    app = create_app(settings, now=clock.now, random_bytes=chance())
    app.testing = True
    app.jinja_env.bytecode_cache = COMPILED
    yield app
    app.extensions["unit"].close()


@pytest.fixture
def app(settings: "Settings", clock: Clock) -> Iterator["Flask"]:
    with an_app(settings, clock) as app:
        yield app


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
