"""A process killed in the middle of writing loses nothing that it has acknowledged."""

import signal
import subprocess
import sys
import time

import sqlalchemy as sa

from portal.store.engine import make_engine
from portal.store.tables import Audit
from tests.conftest import HOUSE, Clock, unit_at


def killed_after(url: str, seconds: float, *more: str) -> list[str]:
    """Run the writer, kill -9 it, and return what it had acknowledged."""
    command = [sys.executable, "-m", "tests.race.writer", url, *more]
    process = subprocess.Popen(command, cwd=HOUSE, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    told = [process.stdout.readline().strip()]
    time.sleep(seconds)
    process.send_signal(signal.SIGKILL)
    told += process.stdout.read().split()
    process.wait()
    return told


def written(url: str) -> set[str]:
    unit = unit_at(url, Clock())
    with unit.read() as session:
        found = set(session.scalars(sa.select(Audit.what).where(Audit.verb == "export")))
    unit.close()
    return found


def test_what_was_acknowledged_is_there_after_the_kill(database) -> None:
    told = killed_after(database, 0.4)
    assert len(told) > 1
    assert set(told) <= written(database)
    if database.startswith("sqlite"):
        engine = make_engine(database)
        with engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
        engine.dispose()


def test_the_next_writer_is_not_in_the_way_of_the_killed_one(database) -> None:
    killed_after(database, 0.1)
    unit = unit_at(database, Clock())
    unit.write(lambda s: s.add(Audit(at=unit.now(), verb="import_shop", what="still writes")))
    unit.close()


def test_one_that_speaks_before_it_commits_is_caught(database) -> None:
    """The control: an acknowledgement before the commit is a promise that a kill breaks."""
    told = killed_after(database, 0.0, "early")
    assert told
    assert not set(told) <= written(database)
