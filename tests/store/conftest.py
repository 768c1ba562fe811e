"""An empty database of each kind, and one at the newest form without a shop in it."""

import itertools
from collections.abc import Iterator
from pathlib import Path

import pytest

from portal.store import migrations
from tests.conftest import on_server
from tests.databases import named

_numbers = itertools.count(1)


@pytest.fixture(params=["sqlite", "postgresql"])
def empty(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'empty.sqlite3'}"
        return
    server = request.getfixturevalue("postgres_server")
    name = f"empty{next(_numbers)}"
    on_server(server, f"CREATE DATABASE {name}")
    yield named(server, name)
    on_server(server, f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")


@pytest.fixture
def bare(empty: str) -> str:
    migrations.upgrade(empty)
    return empty
