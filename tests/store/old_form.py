"""A filled database of an older form: rows as they stood, loaded and read without our tables.

`form_0003.json` holds a part of the demo's week as migration 0003 kept it, cut short, with rows
added by hand so that every state, kind and note stands in it at least once.
"""

import base64
import json
from datetime import date, datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa

Rows = dict[str, list[dict[str, Any]]]
FORM = Path(__file__).parent / "form_0003.json"
SAME = ("alembic_version",)


def old_rows() -> Rows:
    """Return the rows of the old form, by table."""
    rows: Rows = json.loads(FORM.read_text(encoding="utf-8"))
    return rows


def load(engine: sa.Engine, rows: Rows) -> None:
    """Write rows into a database that stands at their form."""
    found = sa.MetaData()
    found.reflect(engine)
    with engine.begin() as connection:
        for table in found.sorted_tables:
            if rows.get(table.name):
                connection.execute(
                    sa.insert(table), [_values(table, row) for row in rows[table.name]]
                )


def dump(engine: sa.Engine) -> Rows:
    """Return every row of a database as plain values, by table and in order of the keys."""
    found = sa.MetaData()
    found.reflect(engine)
    with engine.connect() as connection:
        return {
            table.name: [
                {name: _plain(value) for name, value in row._mapping.items()}
                for row in connection.execute(sa.select(table).order_by(*table.primary_key))
            ]
            for table in found.sorted_tables
            if table.name not in SAME
        }


def _values(table: sa.Table, row: dict[str, Any]) -> dict[str, Any]:
    return {name: _value(table.c[name].type, value) for name, value in row.items()}


def _value(kind: sa.types.TypeEngine[Any], value: Any) -> Any:
    if value is None:
        return None
    if isinstance(kind, sa.DateTime):
        return datetime.fromisoformat(value)
    if isinstance(kind, sa.Date):
        return date.fromisoformat(value)
    if isinstance(kind, sa.LargeBinary):
        return base64.b64decode(value)
    return bool(value) if isinstance(kind, sa.Boolean) else value


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.replace(tzinfo=None).isoformat(" ")
    if isinstance(value, date):
        return value.isoformat()
    return base64.b64encode(value).decode() if isinstance(value, bytes) else value
