"""The file of the embedded database: made, copied and judged, together with its journal.

What was written last may stand in the journal beside the file (`-wal`), so a file is copied by
SQLite, never as a file. SQLite gives the journal and its index (`-shm`) the mode of the database.
"""

from contextlib import closing
from pathlib import Path

from portal.store.sqlite_driver import driver

OURS_ALONE = 0o600  # names, addresses and what people owe


def make(path: Path) -> None:
    """Make an empty file and its folder where there is none; nobody else can read the file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch(OURS_ALONE)


def copy(source: Path, target: Path) -> None:
    """Make `target` a copy of `source`; both may be in use."""
    make(target)
    with closing(driver.connect(source)) as from_, closing(driver.connect(target)) as to:
        from_.backup(to)


def make_one_file(path: Path) -> None:
    """Put what stands in the journal into the file, so that it can be moved alone."""
    with closing(driver.connect(path)) as link:
        link.execute("PRAGMA journal_mode=DELETE")


def is_sound(path: Path) -> bool:
    """Return whether the file is a database without faults."""
    try:
        with closing(driver.connect(f"file:{path}?mode=ro", uri=True)) as link:
            return bool(link.execute("PRAGMA integrity_check").fetchone()[0] == "ok")
    except driver.DatabaseError:
        return False
