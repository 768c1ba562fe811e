"""`python -m tests.store.pause COPIES`: how long an upgrade from each kept form takes.

The kept rows are those of one week; COPIES of them (1 and 50) stand for a larger works.
"""

import sys
from dataclasses import dataclass
from hashlib import blake2b
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


@dataclass(frozen=True)
class Changed:
    """The columns that must differ between two copies: numbers are moved on, texts changed."""

    moved: frozenset[sa.Column[Any]]
    texts: frozenset[sa.Column[Any]]

    def value(self, column: sa.Column[Any], value: Any, n: int) -> Any:
        if n == 0 or value is None:
            return value
        if column in self.moved:
            return value + n * FAR
        return _other_text(column, value, n) if column in self.texts else value

    def has(self, table: sa.Table) -> bool:
        """Whether two copies of a row of this table differ, so that there can be two."""
        return any(one in self.moved or one in self.texts for one in table.columns)


def multiplied(engine: sa.Engine, rows: Rows, copies: int) -> Rows:
    """Return so many copies of the rows, each with keys and unique texts of its own."""
    found = sa.MetaData()
    found.reflect(engine)
    changed = _to_change(engine, found)
    return {
        name: [
            {key: changed.value(table.c[key], value, n) for key, value in row.items()}
            for n in range(copies if changed.has(table) else 1)
            for row in rows[name]
        ]
        for name, table in ((one, found.tables[one]) for one in rows)
    }


def _to_change(engine: sa.Engine, found: sa.MetaData) -> Changed:
    """Return what has to differ: keys that are numbers, and what else is unique without one."""
    columns = [column for table in found.sorted_tables for column in table.columns]
    moved = {
        one
        for one in columns
        if isinstance(one.type, sa.Integer) and (one.primary_key or one.foreign_keys)
    }
    wanted = {key.column for one in columns for key in one.foreign_keys}
    texts: set[sa.Column[Any]] = set()
    for table in found.sorted_tables:
        for unique in _unique(engine, table):
            if moved & unique or table.primary_key.columns[0] not in moved | wanted:
                continue
            moved |= {one for one in unique if isinstance(one.type, sa.Integer)}
            texts |= {one for one in unique if isinstance(one.type, sa.String)}
    texts |= {one for one in columns if {key.column for key in one.foreign_keys} & texts}
    return Changed(frozenset(moved), frozenset(texts))


def _unique(engine: sa.Engine, table: sa.Table) -> list[set[sa.Column[Any]]]:
    look = sa.inspect(engine)
    names = [one["column_names"] for one in look.get_unique_constraints(table.name)]
    names += [one["column_names"] for one in look.get_indexes(table.name) if one["unique"]]
    names += [[one.name for one in table.primary_key]]
    return [{table.c[one] for one in several if one} for several in names]


def _other_text(column: sa.Column[Any], value: str, n: int) -> str:
    """Return another text for each copy; of the same length where the column takes no more."""
    longer = f"{n:03}{value}"
    most = getattr(column.type, "length", None)
    if most is None or len(longer) <= most:
        return longer
    return blake2b(longer.encode(), digest_size=most).hexdigest()[: len(value)].upper()


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
