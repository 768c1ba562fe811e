"""The SQLite library of this process, and whether its write-ahead log may be used.

A process uses one copy of SQLite: a second one that opens and closes the same file takes away the
locks of the first (sqlite.org/howtocorrupt.html, 2.2.1). So nothing else imports `sqlite3`.
"""

import sqlite3  # noqa: TID251  # the one place that chooses
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


# The newer SQLite of the wheel (`pysqlite3`) isn't used: with its write-ahead log, processes that
# share a database met "disk I/O error" (tests of races), and the cause is not known.
driver = chosen(sqlite3)
