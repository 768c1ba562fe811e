"""`python -m tests.store.pause COPIES`: how long an upgrade from each kept form takes.

The kept rows are those of one week; COPIES of them (1 and 50) stand for a larger works.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import Any

import sqlalchemy as sa

from portal.store import migrations
from portal.store.engine import make_engine
from tests.conftest import named, on_server
from tests.postgres import SAFE, running_cluster
from tests.store import released
from tests.store.old_form import Rows, load

FAR = 1_000_000  # between the numbers of two copies


def multiplied(engine: sa.Engine, rows: Rows, copies: int) -> Rows:
    """Return so many copies of the rows, each with keys and unique texts of its own."""
    found = sa.MetaData()
    found.reflect(engine)
    more: Rows = {}
    for name, table in ((one, found.tables[one]) for one in rows):
        keys = {one.name for one in table.columns if one.foreign_keys or one.primary_key}
        unique = {column for one in _unique(engine, table) for column in one}
        owned = any(isinstance(table.c[one].type, sa.Integer) for one in keys)
        count = copies if owned else 1
        more[name] = [
            {key: _changed(value, key, keys, unique, n) for key, value in row.items()}
            for n in range(count)
            for row in rows[name]
        ]
    return more


def _unique(engine: sa.Engine, table: sa.Table) -> list[list[str]]:
    look = sa.inspect(engine)
    constraints = [one["column_names"] for one in look.get_unique_constraints(table.name)]
    indexes = [one["column_names"] for one in look.get_indexes(table.name) if one["unique"]]
    return [*constraints, *indexes, [one.name for one in table.primary_key]]


def _changed(value: Any, key: str, keys: set[str], unique: set[str], n: int) -> Any:
    if n == 0 or value is None or isinstance(value, bool):
        return value
    if isinstance(value, int):
        return value + n * FAR if key in keys or key in unique else value
    # times and days that are part of a unique key stand beside a number that differs
    return f"{n}{value}"[:60] if key in unique and not _is_moment(value) else value


def _is_moment(value: object) -> bool:
    return isinstance(value, str) and value[:2] == "20" and value[4:5] == "-"


def measure(url: str, form: str, copies: int) -> tuple[int, float]:
    """Fill an empty database at an old form; return its jobs and the seconds to the newest."""
    migrations.upgrade(url, form)
    engine = make_engine(url)
    rows = released.rows_of(form)
    load(engine, rows if copies == 1 else multiplied(engine, rows, copies))
    engine.dispose()
    began = perf_counter()
    migrations.upgrade(url)
    return len(rows["job"]) * copies, perf_counter() - began


def main() -> None:
    wanted = [int(one) for one in sys.argv[1:]] or [1, 50]
    with TemporaryDirectory() as folder, running_cluster(SAFE) as server:
        for copies in wanted:
            for form in released.forms():
                name = f"pause_{form}_{copies}"
                on_server(server.url, f"CREATE DATABASE {name}")
                for url in (f"sqlite:///{Path(folder) / name}.sqlite3", named(server.url, name)):
                    jobs, took = measure(url, form, copies)
                    kind = sa.make_url(url).get_backend_name()
                    print(f"{kind:11}{form}{jobs:8} jobs{took:8.1f} s", flush=True)


if __name__ == "__main__":
    main()
