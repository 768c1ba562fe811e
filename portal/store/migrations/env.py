"""Alembic's entry. The connection is handed in; there is no alembic.ini and no offline mode."""

from typing import Any

import sqlalchemy as sa
from alembic import context

from portal.store.tables import Base
from portal.store.types import MessageText, UtcDateTime


def render_item(kind: str, thing: Any, _context: Any) -> str | bool:
    """Write our own column types as what they are in the database, so that history needs no us."""
    if kind == "type" and isinstance(thing, UtcDateTime):
        return "sa.DateTime(timezone=True)"
    if kind == "type" and isinstance(thing, MessageText):
        return "sa.Text()"
    return False


def run() -> None:
    """Run the wanted steps on the connection that was handed in."""
    connection: sa.Connection = context.config.attributes["connection"]
    context.configure(
        connection=connection,
        target_metadata=Base.metadata,
        render_item=render_item,
        render_as_batch=connection.dialect.name == "sqlite",
        compare_type=True,
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()


run()
