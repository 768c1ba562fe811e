"""Why a process uses one copy of SQLite: a second one takes away the locks of the first."""

import sqlite3  # noqa: TID251  # the second copy, to show what it does
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from types import ModuleType

import pytest

from portal.store.sqlite_driver import driver
from tests.conftest import HOUSE

# another process: says how many rows it sees, and closes the file when it is let go
NEIGHBOUR = """
import sys
from portal.store.sqlite_driver import driver
other = driver.connect(sys.argv[1])
print(*other.execute("SELECT count(*) FROM tag").fetchone(), flush=True)
sys.stdin.read()
other.close()
"""
needs_two = pytest.mark.skipif(driver is sqlite3, reason="no wheel here: there is one copy alone")


def neighbour(file: Path) -> tuple[subprocess.Popen, int]:
    process = subprocess.Popen(
        [sys.executable, "-c", NEIGHBOUR, file], cwd=HOUSE,
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    return process, int(process.stdout.readline())


def by(library: ModuleType) -> Callable[[Path], None]:
    """Return what reads the file with a library and closes it."""

    def look(file: Path) -> None:
        with closing(library.connect(file)) as second:
            second.execute("SELECT count(*) FROM tag").fetchone()

    return look


def plainly(file: Path) -> None:
    """Read the database and what stands beside it as files."""
    for one in file.parent.iterdir():
        one.read_bytes()


def seen_by_others(file: Path, look: Callable[[Path], object]) -> int:
    """Write a row here while a neighbour leaves after `look`; return what another process sees."""
    first = driver.connect(file, isolation_level=None)
    assert first.execute("PRAGMA journal_mode=wal").fetchone() == ("wal",)
    first.execute("CREATE TABLE tag (number TEXT)")
    leaves, _ = neighbour(file)
    look(file)
    leaves.communicate()
    first.execute("INSERT INTO tag VALUES ('1')")
    assert first.execute("SELECT count(*) FROM tag").fetchone() == (1,)
    later, seen = neighbour(file)
    later.communicate()
    first.close()
    return seen


@needs_two
def test_what_the_same_copy_has_looked_at_loses_nothing(tmp_path: Path) -> None:
    assert seen_by_others(tmp_path / "a.sqlite3", by(driver)) == 1


@needs_two
@pytest.mark.parametrize("look", [by(sqlite3), plainly], ids=["second copy", "plain files"])
def test_after_a_second_copy_or_a_plain_read_what_was_acknowledged_is_lost(
    tmp_path: Path, look
) -> None:
    """sqlite.org/howtocorrupt.html, 2.2: POSIX locks end when any descriptor of a file is closed.

    So the neighbour believed that it was the last one, and removed the log that is written to.
    """
    assert seen_by_others(tmp_path / "a.sqlite3", look) == 0
