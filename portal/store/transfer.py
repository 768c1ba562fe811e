"""Copies every table to an empty PostgreSQL database, and compares what arrived row by row.

A value travels as what its column holds (a time, a day, a number, a text, bytes), never as what the
house makes of it: messages, states and JSON go as their text, so nothing is reworded on the way.
"""

from collections.abc import Iterator, Sequence
from itertools import zip_longest
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError
from sqlalchemy.types import TypeDecorator

from portal.store.base import Base
from portal.store.types import UtcDateTime

BATCH = 500
# what is copied by its type; everything else is text in the database
TYPED = (UtcDateTime, sa.Date, sa.Integer, sa.Double, sa.Boolean, sa.LargeBinary)


class NotEmpty(Exception):
    """The database that was to be filled has a table of somebody else's, or rows."""


class Unfit(Exception):
    """A value that PostgreSQL can't hold: the table, and why in the database's words."""

    def __init__(self, table: str, why: str) -> None:
        super().__init__(table, why)
        self.table, self.why = table, why


class Differs(Exception):
    """What was copied isn't what was there: the table, and the key of the first such row."""

    def __init__(self, table: str, key: tuple[Any, ...]) -> None:
        super().__init__(table, key)
        self.table, self.key = table, key


class JsonText(TypeDecorator[str]):
    """A JSON column read and written as its text; PostgreSQL's `json` keeps it as it is."""

    impl = sa.Text
    cache_ok = True

    def column_expression(self, column: sa.ColumnElement[Any]) -> sa.ColumnElement[Any]:
        """Read the text."""
        return sa.cast(column, sa.Text)

    def bind_expression(self, bindvalue: sa.BindParameter[Any]) -> sa.ColumnElement[Any]:
        """Write the text into a column of its kind."""
        return sa.cast(bindvalue, sa.JSON)


def must_be_empty(target: sa.Connection) -> None:
    """Raise NotEmpty unless there is nothing, or our tables without a row."""
    found = set(sa.inspect(target).get_table_names())
    ours = {table.name for table in Base.metadata.sorted_tables} | {"alembic_version"}
    tables = (sa.table(name) for name in sorted(found - {"alembic_version"}))
    if found - ours or any(target.scalar(_any_row(table)) for table in tables):
        raise NotEmpty


def transfer(source: sa.Connection, target: sa.Connection) -> int:
    """Copy every row to tables of the same form, compare, and return how many there are.

    Raise Unfit or Differs. It is all in the transactions of the two connections.
    """
    tables = [plain(table) for table in Base.metadata.sorted_tables]
    for table in tables:
        _copy(source, target, table)
        _continue_numbers(target, table)
    return sum(compare(source, target, table) for table in tables)


def plain(table: sa.Table) -> sa.Table:
    """Return a table as the database has it, without the house's own types."""
    columns = [
        sa.Column(one.name, _plain_type(one.type), primary_key=one.primary_key)
        for one in table.columns
    ]
    return sa.Table(table.name, sa.MetaData(), *columns)


def compare(source: sa.Connection, target: sa.Connection, table: sa.Table) -> int:
    """Return how many rows of a table are there, all alike in both; raise Differs."""
    count = 0
    for ours, theirs in zip_longest(_rows(source, table), _rows(target, table)):
        if ours != theirs:
            row = ours if ours is not None else theirs
            key = tuple(row[at] for at, one in enumerate(table.columns) if one.primary_key)
            raise Differs(table.name, key)
        count += 1
    return count


def _plain_type(kind: sa.types.TypeEngine[Any]) -> sa.types.TypeEngine[Any]:
    if isinstance(kind, sa.JSON):
        return JsonText()
    return kind if isinstance(kind, TYPED) else sa.Text()


def _any_row(table: sa.TableClause) -> sa.Select[Any]:
    return sa.select(sa.literal(1)).select_from(table).limit(1)


def _copy(source: sa.Connection, target: sa.Connection, table: sa.Table) -> None:
    batch: list[dict[str, Any]] = []
    names = [one.name for one in table.columns]
    for row in _rows(source, table):
        batch.append(dict(zip(names, row, strict=True)))
        if len(batch) == BATCH:
            _insert(target, table, batch)
            batch = []
    _insert(target, table, batch)


def _insert(target: sa.Connection, table: sa.Table, batch: Sequence[dict[str, Any]]) -> None:
    if not batch:
        return
    try:
        target.execute(sa.insert(table), batch)
    except DBAPIError as wrong:
        diagnosis = getattr(wrong.orig, "diag", None)
        why = getattr(diagnosis, "message_primary", None) or str(wrong.orig).partition("\n")[0]
        raise Unfit(table.name, why) from None


def _rows(connection: sa.Connection, table: sa.Table) -> Iterator[tuple[Any, ...]]:
    """Yield the rows by their keys; texts in the order of their bytes, on both databases."""
    postgres = connection.dialect.name == "postgresql"
    keys = [
        sa.collate(one, "C") if postgres and isinstance(one.type, sa.Text) else one
        for one in table.primary_key
    ]
    found = connection.execute(
        sa.select(table).order_by(*keys), execution_options={"yield_per": BATCH}
    )
    for row in found:
        yield tuple(row)


def _continue_numbers(target: sa.Connection, table: sa.Table) -> None:
    """Let the numbers that the database gives out go on after the greatest that was copied."""
    keys = [one for one in table.primary_key if isinstance(one.type, sa.Integer)]
    for key in keys:
        series = target.scalar(sa.select(sa.func.pg_get_serial_sequence(table.name, key.name)))
        last = target.scalar(sa.select(sa.func.max(key)))
        if series is not None and last is not None:
            target.execute(sa.select(sa.func.setval(series, last)))
