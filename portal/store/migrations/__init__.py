"""One history of the schema for both databases; `upgrade(url)` brings a database to its end."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory

from portal.store.engine import WRITING, make_engine

HERE = Path(__file__).resolve().parent
# any number that no other program uses on this server: two starts at once migrate in turn
TURN = 730_118


def config() -> Config:
    """Return Alembic's configuration, which needs no file."""
    made = Config()
    made.set_main_option("script_location", str(HERE).replace("%", "%%"))
    made.set_main_option("file_template", "%%(rev)s_%%(slug)s")
    return made


@cache
def head() -> str:
    """Return the number of the newest migration."""
    return str(ScriptDirectory.from_config(config()).get_current_head())


@cache
def forms() -> frozenset[str]:
    """Return the numbers of all migrations: the forms of a database that this version knows."""
    walked = ScriptDirectory.from_config(config()).walk_revisions()
    return frozenset(one.revision for one in walked)


def current(url: str) -> str:
    """Return the number of the database at `url`, or "" when it is empty."""
    engine = make_engine(url)
    try:
        with engine.connect() as connection:
            if not sa.inspect(connection).has_table("alembic_version"):
                return ""
            found = connection.exec_driver_sql("SELECT version_num FROM alembic_version")
            return str(found.scalar() or "")
    finally:
        engine.dispose()


def upgrade(url: str, to: str = "head") -> None:
    """Bring the database at `url` up to `to`, in one transaction; a newest one is left alone."""
    if to == "head" and current(url) == head():
        return  # every start asks; checking the references of a large database takes seconds
    with connected(url) as connection:
        upgrade_on(connection, to)


def upgrade_on(connection: sa.Connection, to: str = "head") -> None:
    """Bring the database of a connection up to `to`, in its transaction."""
    made = config()
    made.attributes["connection"] = connection
    command.upgrade(made, to)


def downgrade(url: str, to: str) -> None:
    """Take the database at `url` down to `to` ("base" empties it), in one transaction."""
    with connected(url) as connection:
        made = config()
        made.attributes["connection"] = connection
        command.downgrade(made, to)


@contextmanager
def connected(url: str) -> Iterator[sa.Connection]:
    """Yield a connection in a transaction of which there is one at a time."""
    _make_folder(url)
    engine = make_engine(url)
    try:
        with engine.connect() as plain:
            if engine.dialect.name == "sqlite":
                # rebuilding a table must not cascade into those that refer to it; the setting
                # is ignored inside a transaction, so it goes before the first one
                plain.connection.cursor().execute("PRAGMA foreign_keys=OFF")
            connection = plain.execution_options(**{WRITING: True})
            with connection.begin():
                if engine.dialect.name == "postgresql":
                    connection.execute(sa.select(sa.func.pg_advisory_xact_lock(TURN)))
                yield connection
                _check_references(connection)
    finally:
        engine.dispose()


def _make_folder(url: str) -> None:
    address = sa.make_url(url)
    if address.get_backend_name() == "sqlite" and address.database:
        Path(address.database).parent.mkdir(parents=True, exist_ok=True)


def _check_references(connection: sa.Connection) -> None:
    if connection.dialect.name != "sqlite":
        return
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    if broken:
        msg = f"the migration left rows that refer to nothing: {broken[:5]}"
        raise RuntimeError(msg)
