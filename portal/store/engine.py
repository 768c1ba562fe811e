"""The engine and its sessions: how a transaction begins, on SQLite and on PostgreSQL.

Writers begin IMMEDIATE on SQLite and SERIALIZABLE on PostgreSQL; readers see one snapshot. A
writing transaction must be repeatable as a whole (`is_conflict` tells when).
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event, orm
from sqlalchemy.exc import DBAPIError, OperationalError

from portal.store.sqlite_driver import driver, wal_is_sound

BUSY_SECONDS = 10
WRITING = "portal_writes"
# SQLite: 5 BUSY, 6 LOCKED; PostgreSQL: serialization failure, deadlock, lock not available
SQLITE_CONFLICTS = {driver.SQLITE_BUSY, driver.SQLITE_LOCKED}
# SQLite: 8 READONLY, 10 IOERR, 13 FULL, 14 CANTOPEN; PostgreSQL's classes: 08 connection,
# 53 insufficient resources, 57 operator intervention, 58 system error; 25006 read-only
SQLITE_UNAVAILABLE = {
    driver.SQLITE_READONLY,
    driver.SQLITE_IOERR,
    driver.SQLITE_FULL,
    driver.SQLITE_CANTOPEN,
}
CLASSES_UNAVAILABLE = {"08", "53", "57", "58"}
READ_ONLY = "25006"
SQLSTATE_CONFLICTS = {"40001", "40P01", "55P03"}


def make_engine(url: str) -> sa.Engine:
    """Return an engine for `url` with this portal's settings on every connection."""
    address = sa.make_url(url)
    if address.get_backend_name() == "sqlite":
        # the connection pool hands a connection to one thread at a time
        connect = {"timeout": BUSY_SECONDS, "check_same_thread": False}
        engine = sa.create_engine(
            address,
            module=driver,
            connect_args=connect,
            pool_size=10,
            max_overflow=20,
            hide_parameters=True,
        )
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
        return engine
    return sa.create_engine(
        address, pool_size=10, max_overflow=20, pool_pre_ping=True, hide_parameters=True
    )


def make_reading_engine(file: Path) -> sa.Engine:
    """Return an engine that reads an SQLite file and can't change it, not even its journal."""

    def connect() -> Any:
        address = f"{file.resolve().as_uri()}?mode=ro"
        return driver.connect(address, uri=True, timeout=BUSY_SECONDS, isolation_level=None)

    engine = sa.create_engine("sqlite://", module=driver, creator=connect, hide_parameters=True)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def make_sessions(engine: sa.Engine) -> orm.sessionmaker[orm.Session]:
    """Return a session factory; rows stay readable after their commit."""
    return orm.sessionmaker(engine, expire_on_commit=False)


def begin_writing(session: orm.Session) -> None:
    """Begin a transaction that will write, so that no later statement has to upgrade its lock."""
    if _is_sqlite(session):
        session.connection(execution_options={WRITING: True})
    else:
        session.connection(execution_options={"isolation_level": "SERIALIZABLE"})


def begin_reading(session: orm.Session) -> None:
    """Begin a transaction that sees one moment of the database and can't change it.

    On SQLite it has that moment at once, and no writer gets in the way of what it reads later.
    """
    if _is_sqlite(session):
        session.connection().exec_driver_sql("PRAGMA schema_version")
    else:
        options = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        session.connection(execution_options=options)


def is_conflict(error: DBAPIError) -> bool:
    """Return whether another transaction was in the way, so that a retry may succeed."""
    cause = error.orig
    if isinstance(cause, driver.Error):
        # the low byte is the primary code; BUSY_SNAPSHOT and its kin live above it
        return (getattr(cause, "sqlite_errorcode", 0) & 0xFF) in SQLITE_CONFLICTS
    return getattr(cause, "sqlstate", None) in SQLSTATE_CONFLICTS


def is_unavailable(error: DBAPIError) -> bool:
    """Return whether the database can't do its work for now: no room, read-only, or gone."""
    cause = error.orig
    if isinstance(cause, driver.Error):
        return (getattr(cause, "sqlite_errorcode", 0) & 0xFF) in SQLITE_UNAVAILABLE
    state = getattr(cause, "sqlstate", None) or ""
    gone = error.connection_invalidated or (isinstance(error, OperationalError) and not state)
    return gone or state[:2] in CLASSES_UNAVAILABLE or state == READ_ONLY


def is_gone(error: DBAPIError) -> bool:
    """Return whether the connection was lost, so that a new one may do better."""
    return error.connection_invalidated


# ANALYZE leaves the samples of an empty table as they were; a change of a column's type, be it to
# the same one, removes them (PostgreSQL 15 manual, ALTER TABLE, "SET DATA TYPE")
FORGET_SAMPLES = sa.text(
    """
    SELECT format('ALTER TABLE %I ALTER COLUMN %I TYPE %s',
                  c.relname, a.attname, format_type(a.atttypid, a.atttypmod))
    FROM pg_stats s
    JOIN pg_class c ON c.oid = to_regclass(format('%I.%I', s.schemaname, s.tablename))
    JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = s.attname
    WHERE s.schemaname = current_schema() AND c.reltuples = 0
    """
)


@dataclass(frozen=True, slots=True)
class StoreFacts:
    """What the readiness page shows about the database; `form` is the number of its migration."""

    database: str
    version: str
    journal: str
    form: str


def facts(engine: sa.Engine) -> StoreFacts:
    """Return facts about the database; raise when it can't be reached."""
    with engine.connect() as connection:
        form = str(connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar())
        if engine.dialect.name == "sqlite":
            journal = connection.exec_driver_sql("PRAGMA journal_mode").scalar_one()
            return StoreFacts("SQLite", driver.sqlite_version, str(journal), form)
        version = connection.exec_driver_sql("SHOW server_version").scalar_one()
        return StoreFacts("PostgreSQL", str(version), "wal", form)


def wipe(engine: sa.Engine) -> None:
    """Write the database's files anew, without what was deleted.

    PostgreSQL keeps samples of what stood in a column for its planner, so these are taken anew,
    forgotten where nothing is left, and their own table is written anew after that. Its
    write-ahead log is the server's matter.
    """
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        if engine.dialect.name == "sqlite":
            cursor = connection.connection.cursor()
            cursor.execute("VACUUM")
            # with a log the new pages wait in it while somebody reads the old ones
            busy, _frames, _moved = cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            if busy:
                msg = "database is locked"
                raise driver.OperationalError(msg)
        else:
            connection.exec_driver_sql("VACUUM (FULL, ANALYZE)")
            for statement in connection.scalars(FORGET_SAMPLES).all():
                connection.exec_driver_sql(statement)
            connection.exec_driver_sql("VACUUM (FULL) pg_catalog.pg_statistic")


def _is_sqlite(session: orm.Session) -> bool:
    return session.get_bind().dialect.name == "sqlite"


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    # without this the driver begins on its own, deferred, and only before some statements
    connection.isolation_level = None
    journal = "wal" if wal_is_sound(driver.sqlite_version_info) else "delete"
    if connection.execute("PRAGMA journal_mode").fetchone()[0] != journal:
        connection.execute(f"PRAGMA journal_mode={journal}")
    connection.execute("PRAGMA synchronous=FULL")
    connection.execute("PRAGMA foreign_keys=ON")
    # what is deleted is overwritten, so that nobody reads it in the file
    connection.execute("PRAGMA secure_delete=ON")
    # nor in a log that begins again, which would keep its length and what stands in its rest
    connection.execute("PRAGMA journal_size_limit=0")


def _begin_sqlite(connection: sa.Connection) -> None:
    writes = connection.get_execution_options().get(WRITING)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
