"""The one database of each kind that a process of tests has, and the images that it is put back to.

An image is a whole database: the shop as it is seeded, or what it became by one scene (`scene`)
after another. Each is made once a process, through the verbs, and copied from then on. A test
always begins with the shop; commits, triggers and locks are the real ones.
"""

import hashlib
import itertools
import os
import pickle
import random
from abc import ABC, abstractmethod
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass, field
from functools import wraps
from inspect import signature
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any, Concatenate, ParamSpec, TypeVar

import sqlalchemy as sa
from flask import has_app_context

from portal.orders.kernel.unit import UnitOfWork
from portal.orders.planning import calibration, expected, forecasting
from portal.store.engine import make_engine
from portal.store.sqlite_driver import driver
from tests import run

P = ParamSpec("P")
T = TypeVar("T")
WAIT_SECONDS, PATIENCE = 0.01, 500


_NUMBERS = itertools.count()


@dataclass
class Image:
    """A whole database; `after` has what each scene made of it."""

    kept: Any
    after: dict[str, tuple["Image", Any, int]] = field(default_factory=dict)
    # what is in it, the same for all processes of a run: a hash, or what no other has
    way: str = field(default_factory=lambda: f"{os.getpid()}/{next(_NUMBERS)}")


class Database(ABC):
    """A database that is put back to images; `url` and `engine` stay the same."""

    def __init__(self, url: str, root: Image) -> None:
        self.url = url
        self.engine = make_engine(url)
        self.root = root
        self.may_copy = True
        self.shares = True
        self.played = 0
        self._at = root
        self._shops: dict[Any, Any] = {}  # as the seeded editions say

    @abstractmethod
    def put(self, image: Image) -> None:
        """Become `image`."""

    @abstractmethod
    def keep(self) -> Image:
        """Return an image of what there is."""

    @abstractmethod
    def packed(self, image: Image) -> bytes:
        """Return an image as it goes to another process."""

    @abstractmethod
    def unpacked(self, content: bytes) -> Any:
        """Return what an image keeps, as another process packed it."""

    @abstractmethod
    def is_untouched(self) -> bool:
        """Whether nobody has written since the last image was put or kept."""

    def begin(self, *, may_copy: bool) -> None:
        """Begin a test with the shop as it is seeded."""
        self.may_copy, self.played = may_copy, 0
        expected._CACHE.last = None  # who comes when outlasts the scenes of a test
        self._put(self.root)

    def unit(self, unit: UnitOfWork) -> UnitOfWork:
        """Return a unit of this database, with the seeded shop read already."""
        if not self._shops:
            with unit.read() as session:
                unit.shop(session)
            self._shops |= unit._shop_cache._shops
        unit._shop_cache._shops |= self._shops
        return unit

    def end(self) -> None:
        """Close every connection, so that none is left to the next test."""
        self.engine.dispose()

    def play(self, key: str, build: Callable[[], T]) -> T:
        """Do what `build` does to the database, by a copy where it was done to the same before."""
        if not self.may_copy or has_app_context() or not self.is_untouched():
            return build()
        before = self._at
        way = _hash(f"{before.way} {key}".encode())
        if key not in before.after and self.shares:
            self._fetch(before, key, way)
        if key in before.after:
            after, answer, self.played = before.after[key]
            if after is not before:
                self._put(after)
            return answer
        answer = build()
        if not self.is_untouched():
            self._at = self.keep()
        before.after[key] = (self._at, answer, self.played)
        if self.shares:
            self._give(before, key, way)
        forget_what_was_learned()
        return answer

    def _fetch(self, before: Image, key: str, way: str) -> None:
        """Take what another process of the run has made of the same."""
        found = run.read(f"scene-{way}")
        if found is not None:
            content, answer, played = pickle.loads(found)
            after = before if content is None else Image(self.unpacked(content), way=_hash(content))
            before.after[key] = (after, answer, played)

    def _give(self, before: Image, key: str, way: str) -> None:
        """Let the other processes of the run have what a scene made."""
        after, answer, played = before.after[key]
        content = None if after is before else self.packed(after)
        if content is not None:
            # two processes may play one scene at once, each with chances of its own: what another
            # scene made of the one is nothing that ever was for the other
            after.way = _hash(content)
        with suppress(TypeError, AttributeError, pickle.PicklingError):  # it stays in this process
            run.put(f"scene-{way}", pickle.dumps((content, answer, played)))

    def _put(self, image: Image) -> None:
        self.put(image)
        self._at = image
        forget_what_was_learned()


class SqliteDatabase(Database):
    """A file; an image is a database in memory, copied page by page."""

    def __init__(self, path: Path, model: Path) -> None:
        self._file = driver.connect(path)
        self._file.execute("PRAGMA synchronous=OFF")
        # a connection that never writes is told when any other has
        self._watch = driver.connect(path)
        self._seen = -1
        image = driver.connect(":memory:")
        found = driver.connect(model)
        found.backup(image)
        found.close()
        super().__init__(f"sqlite:///{path}", Image(image, way="the seeded shop"))

    def put(self, image: Image) -> None:
        _copy(image.kept, self._file)
        self._seen = self._version()

    def keep(self) -> Image:
        made = driver.connect(":memory:")
        _copy(self._file, made)
        self._seen = self._version()
        return Image(made)

    def packed(self, image: Image) -> bytes:
        with NamedTemporaryFile(dir=run.folder()) as file:
            with closing(driver.connect(file.name)) as copy:
                _copy(image.kept, copy)
            return Path(file.name).read_bytes()

    def unpacked(self, content: bytes) -> Any:
        made = driver.connect(":memory:")
        with NamedTemporaryFile(dir=run.folder()) as file:
            file.write(content)
            file.flush()
            with closing(driver.connect(file.name)) as copy:
                _copy(copy, made)
        return made

    def is_untouched(self) -> bool:
        return self._seen == self._version()

    def _version(self) -> int:
        return int(self._watch.execute("PRAGMA data_version").fetchone()[0])


def _copy(source: Any, target: Any) -> None:
    """Copy all pages at once; waits a while for a transaction that is still open."""
    steps = itertools.count()

    def step(status: int, _left: int, _pages: int) -> None:
        if status != driver.SQLITE_DONE and next(steps) > PATIENCE:
            msg = "a transaction was left open"
            raise TimeoutError(msg)

    source.backup(target, progress=step, sleep=WAIT_SECONDS)


class PostgresDatabase(Database):
    """A database of the cluster of this process; images are templates."""

    def __init__(self, server: str, model: str) -> None:
        self._server = make_engine(server).execution_options(isolation_level="AUTOCOMMIT")
        self._numbers = itertools.count(1)
        self._seen = -1
        super().__init__(named(server, "portal"), Image(model))

    def put(self, image: Image) -> None:
        self.engine.dispose()
        self._do("DROP DATABASE IF EXISTS portal WITH (FORCE)")
        self._do(f"CREATE DATABASE portal TEMPLATE {image.kept} STRATEGY FILE_COPY")

    def keep(self) -> Image:
        msg = "scenes are played anew"
        raise NotImplementedError(msg)

    def packed(self, image: Image) -> bytes:
        raise NotImplementedError

    def unpacked(self, content: bytes) -> Any:
        raise NotImplementedError

    def is_untouched(self) -> bool:
        # copying a database takes longer here than most scenes
        return False

    def _do(self, statement: str) -> None:
        with self._server.connect() as connection:
            connection.execute(sa.text(statement))


def named(url: str, name: str) -> str:
    """Return the address of another database of the same server."""
    return url.rsplit("/", 1)[0] + "/" + name


def forget_what_was_learned() -> None:
    """Empty what the process remembers of the last database."""
    calibration._CACHE.last = None
    forecasting._CACHE.last = None


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


_databases: dict[sa.Engine, Database] = {}


def known(database: Database) -> Database:
    """Let scenes find this database by a unit of it."""
    _databases[database.engine] = database
    return database


def scene(
    build: Callable[Concatenate[UnitOfWork, P], T],
) -> Callable[Concatenate[UnitOfWork, P], T]:
    """Mark what sets a scene: played through the verbs once a process, then copied.

    Its arguments and the time say what it does, and nothing else may; what it returns is frozen.
    It has a chance of its own, so that what a test draws later is the same either way.
    """

    form = signature(build)

    @wraps(build)
    def play(unit: UnitOfWork, /, *args: P.args, **kwargs: P.kwargs) -> T:
        told = form.bind(None, *args, **kwargs)
        told.apply_defaults()  # what is left out is the same as what is said
        said = f"{build.__module__}.{build.__qualname__} {told.arguments!r}"
        return as_scene(unit, said, lambda: build(unit, *args, **kwargs))

    return play


def as_scene(unit: UnitOfWork, said: str, build: Callable[[], T]) -> T:
    """Play a scene of which `said` and the time say everything; see `scene`."""
    database = _databases.get(unit._engine())
    if database is None:
        return build()
    database.played += 1
    key = f"{said} {unit.now()} {unit.base_url}"
    own, unit.random_bytes = unit.random_bytes, _chance(f"{database.played} {key}")
    try:
        return database.play(key, build)
    finally:
        unit.random_bytes = own


def _chance(seed: str) -> Callable[[int], bytes]:
    return random.Random(seed).randbytes
