"""The SQLite library of this process, and whether its write-ahead log may be used.

A process uses one copy of SQLite: a second one that opens and closes the same file takes away the
locks of the first (sqlite.org/howtocorrupt.html, 2.2.1). Another process then believes that it is
the last one and removes the log that is still written to: "disk I/O error", and rows that were
acknowledged are lost (`tests/store/test_sqlite_driver.py`). So nothing else imports `sqlite3`,
and `make_engine` alone makes an engine for a file.
"""

import importlib
import sqlite3  # noqa: TID251  # the one place that chooses
from collections.abc import Iterator
from types import ModuleType


def wal_is_sound(version: tuple[int, ...]) -> bool:
    """Return whether this SQLite is free of the WAL-reset bug that could corrupt a database.

    Present from 3.7.0 to 3.51.2, fixed in 3.51.3 and in 3.50.7 and 3.44.6 (sqlite.org/wal.html).
    """
    mended = ((3, 44, 6), (3, 50, 7))
    return version >= (3, 51, 3) or any(
        fixed <= version < (fixed[0], fixed[1] + 1) for fixed in mended
    )


def chosen(*found: ModuleType) -> ModuleType:
    """Return the first library whose write-ahead log is sound, else the first of all."""
    return next((one for one in found if wal_is_sound(one.sqlite_version_info)), found[0])


def _installed() -> Iterator[ModuleType]:
    """Yield Python's own SQLite, then the newer one of the wheel where there is a wheel."""
    yield sqlite3
    try:
        yield importlib.import_module("pysqlite3.dbapi2")
    except ImportError:
        return


driver = chosen(*_installed())
