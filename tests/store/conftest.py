"""Databases of each kind at some form: empty, the newest without a shop in it, or as a test says.

A form is made once a process and copied from then on.
"""

import itertools
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

import pytest

from portal.store import migrations
from tests.conftest import on_server
from tests.databases import named


class Forms(Protocol):
    """Makes databases of one kind."""

    def empty(self) -> str:
        """Return the URL of a database with nothing in it."""

    def like(self, name: str, make: Callable[[str], object], of: str = "") -> str:
        """Return the URL of a copy of what `make` makes of an empty database, or of form `of`."""


@dataclass
class SqliteForms:
    folder: Path
    made: dict[str, Path] = field(default_factory=dict)
    numbers: Iterator[int] = field(default_factory=itertools.count)

    def empty(self) -> str:
        return f"sqlite:///{self._path()}"

    def like(self, name: str, make: Callable[[str], object], of: str = "") -> str:
        if name not in self.made:
            made = self._path()
            if of:
                shutil.copy(self.made[of], made)
            make(f"sqlite:///{made}")
            self.made[name] = made
        return f"sqlite:///{shutil.copy(self.made[name], self._path())}"

    def _path(self) -> Path:
        return self.folder / f"{next(self.numbers)}.sqlite3"


@dataclass
class PostgresForms:
    server: str
    made: dict[str, str] = field(default_factory=dict)
    numbers: Iterator[int] = field(default_factory=itertools.count)

    def empty(self) -> str:
        return named(self.server, self._create("template1"))

    def like(self, name: str, make: Callable[[str], object], of: str = "") -> str:
        if name not in self.made:
            made = self._create(self.made[of] if of else "template1")
            make(named(self.server, made))
            self.made[name] = made
        return named(self.server, self._create(self.made[name]))

    def _create(self, template: str) -> str:
        name = f"form{next(self.numbers)}"
        on_server(self.server, f"CREATE DATABASE {name} TEMPLATE {template} STRATEGY FILE_COPY")
        return name


@pytest.fixture(scope="session")
def sqlite_forms(tmp_path_factory: pytest.TempPathFactory) -> Forms:
    return SqliteForms(tmp_path_factory.mktemp("forms"))


@pytest.fixture(scope="session")
def postgresql_forms(postgres_server: str) -> Forms:
    return PostgresForms(postgres_server)


@pytest.fixture(params=["sqlite", "postgresql"])
def forms(request: pytest.FixtureRequest) -> Forms:
    found: Forms = request.getfixturevalue(f"{request.param}_forms")
    return found


@pytest.fixture
def empty(forms: Forms) -> str:
    return forms.empty()


@pytest.fixture
def bare(forms: Forms) -> str:
    return forms.like("newest", migrations.upgrade)


@pytest.fixture
def sqlite_bare(sqlite_forms: Forms) -> str:
    return sqlite_forms.like("newest", migrations.upgrade)
