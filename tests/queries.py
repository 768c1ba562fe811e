"""Which statements a use case sends to the database."""

from collections.abc import Iterator
from contextlib import contextmanager

import sqlalchemy as sa

from portal.orders.kernel.unit import UnitOfWork

HOUSEKEEPING = ("PRAGMA", "BEGIN", "SET")


@contextmanager
def queries_of(unit: UnitOfWork) -> Iterator[list[str]]:
    """Collect the statements that are sent meanwhile, one text each."""
    statements: list[str] = []

    def count(_connection: object, _cursor: object, statement: str, *_more: object) -> None:
        if not statement.startswith(HOUSEKEEPING):
            statements.append(statement)

    engine = unit._engine()
    sa.event.listen(engine, "before_cursor_execute", count)
    try:
        yield statements
    finally:
        sa.event.remove(engine, "before_cursor_execute", count)
