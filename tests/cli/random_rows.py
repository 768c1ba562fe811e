"""Rows that nobody had in mind, in every table of an embedded database."""

import json
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

import sqlalchemy as sa

from portal.craft.message_json import to_json
from portal.craft.messages import Message
from portal.store.sqlite_driver import driver
from portal.store.tables import Base
from portal.store.types import STATES, MessageText, StateWord, UtcDateTime

SIGNS = "aZ0 .-'\"\\%{}€ßñ中𝄞\n\t\u0085\u200f"
EDGES = (0, 1, -1, 2**31 - 1, -(2**31))


def fill(file: Path, seed: int, rows: int = 12) -> None:
    """Add rows to every table; what the database refuses is left out."""
    chance = Random(seed)
    with closing(driver.connect(file)) as base:
        base.execute("PRAGMA foreign_keys=ON")
        for table in Base.metadata.sorted_tables:
            for _ in range(rows):
                _add(base, table, chance)
        base.commit()


def _add(base: Any, table: sa.Table, chance: Random) -> None:
    values = {one.name: _value(base, one, chance) for one in table.columns}
    names = ", ".join(f'"{name}"' for name in values)
    marks = ", ".join("?" for _ in values)
    statement = f'INSERT OR IGNORE INTO "{table.name}" ({names}) VALUES ({marks})'
    base.execute(statement, tuple(values.values()))


def _value(base: Any, column: sa.Column[Any], chance: Random) -> Any:
    if column.nullable and chance.random() < 0.3:
        return None
    for reference in column.foreign_keys:
        found = _all(base, reference.column)
        return chance.choice(found) if found else None
    if column.primary_key and isinstance(column.type, sa.Integer):
        # rows are only ever added: what one refers to has a smaller number
        return max(_all(base, column), default=0) + chance.randrange(1, 10**6)
    return _of_kind(column.type, chance)


def _all(base: Any, column: sa.Column[Any]) -> list[Any]:
    found = base.execute(f'SELECT "{column.name}" FROM "{column.table.name}"')
    return [value for (value,) in found]


def _of_kind(kind: Any, chance: Random) -> Any:
    if isinstance(kind, sa.Enum):
        return chance.choice(kind.enums)
    if isinstance(kind, StateWord):
        return chance.choice([*STATES])
    if isinstance(kind, MessageText):
        said = Message("{text}, {count}", text=_text(chance, 20), count=chance.randrange(9))
        return json.dumps(to_json(said), ensure_ascii=False)
    if isinstance(kind, sa.JSON):
        return json.dumps(_json(chance), ensure_ascii=chance.random() < 0.5)
    if isinstance(kind, sa.String):
        return _text(chance, min(kind.length or 400, 40))
    return _plain(kind, chance)


def _plain(kind: Any, chance: Random) -> Any:
    if isinstance(kind, sa.Boolean):
        return chance.randrange(2)
    if isinstance(kind, sa.Integer):
        return chance.choice((*EDGES, chance.randrange(10**9)))
    if isinstance(kind, sa.Double):
        return chance.choice((0.0, 0.1, 1 / 3, 1e-300, -2.5e17, chance.random()))
    if isinstance(kind, sa.LargeBinary):
        return chance.randbytes(chance.choice((0, 1, 5_000)))
    if isinstance(kind, UtcDateTime):
        start = datetime(1970, 1, 1, tzinfo=UTC)
        moment = start + timedelta(microseconds=chance.randrange(4 * 10**15))
        return moment.strftime("%Y-%m-%d %H:%M:%S.%f")
    assert isinstance(kind, sa.Date), kind
    return str(date.fromordinal(chance.randrange(1, 3_000_000)))


def _text(chance: Random, longest: int) -> str:
    return "".join(chance.choice(SIGNS) for _ in range(chance.randrange(longest + 1)))


def _json(chance: Random) -> Any:
    return {
        _text(chance, 6): chance.choice((None, True, 0.1, 10**20, -0.0, "", [], {})),
        "again": [_text(chance, 9), {"0": chance.random()}],
    }
