"""Lets one process at a time do a work, however many are started, on one machine or on several.

On PostgreSQL an advisory lock of a connection that stays open, for all machines that share the
database; on SQLite a lock of a file beside it. Either ends with its process, however that ends.
"""

import fcntl
import os
from abc import ABC, abstractmethod
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError

# any number that no other program uses on this server
TURN = 730_119
# the server gives the lock of a machine that vanished to another after 20 + 3 × 10 seconds
NOTICE_THE_LOST = (
    "SET tcp_keepalives_idle = 20",
    "SET tcp_keepalives_interval = 10",
    "SET tcp_keepalives_count = 3",
)


class SoleProcess(ABC):
    """The right to be the one process; see `sole_process`."""

    @abstractmethod
    def held(self) -> bool:
        """Return whether this is the one, taking the place where it is free; asked again and again.

        Raise DBAPIError or OSError where that can't be told.
        """

    @abstractmethod
    def leave(self) -> None:
        """Let another be the one."""


def sole_process(url: str, name: str) -> SoleProcess:
    """Return the right of the work `name` over the database at `url`."""
    address = sa.make_url(url)
    if address.get_backend_name() == "sqlite":
        return _ByFile(Path(address.database or "portal").with_name(f"{name}.lock"))
    return _ByConnection(address, name)


class _ByFile(SoleProcess):
    def __init__(self, path: Path) -> None:
        self._path = path
        self._file: int | None = None

    def held(self) -> bool:
        if self._file is not None:
            return True
        file = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(file)
            return False
        self._file = file
        return True

    def leave(self) -> None:
        if self._file is not None:
            os.close(self._file)
            self._file = None


class _ByConnection(SoleProcess):
    def __init__(self, address: sa.URL, name: str) -> None:
        self._engine = sa.create_engine(
            address, poolclass=sa.NullPool, isolation_level="AUTOCOMMIT", hide_parameters=True
        )
        self._name = name
        self._connection: sa.Connection | None = None

    def held(self) -> bool:
        try:
            if self._connection is not None:
                self._connection.exec_driver_sql("SELECT 1")
                return True
            return self._take()
        except DBAPIError:
            self.leave()
            raise

    def _take(self) -> bool:
        self._connection = self._engine.connect()
        for statement in NOTICE_THE_LOST:
            self._connection.exec_driver_sql(statement)
        # so that pg_stat_activity tells which process it is
        named = sa.func.set_config("application_name", f"{self._name} {os.getpid()}", sa.false())
        self._connection.execute(sa.select(named))
        lock = sa.func.pg_try_advisory_lock(TURN, sa.func.hashtext(self._name))
        if self._connection.scalar(sa.select(lock)):
            return True
        self.leave()
        return False

    def leave(self) -> None:
        if self._connection is not None:
            self._connection.invalidate()
            self._connection.close()
            self._connection = None
