"""One process does a work, however many are started; when it is killed the next one does it."""

import os
import signal
import subprocess
import sys

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError

from portal.store.sole_process import sole_process
from tests.conftest import HOUSE

HOLDER = """
import sys, time
from portal.store.sole_process import sole_process
right = sole_process(sys.argv[1], "work")
print(right.held(), flush=True)
time.sleep(600)
"""


def test_the_second_has_to_wait_until_the_first_leaves(database: str) -> None:
    first, second = sole_process(database, "work"), sole_process(database, "work")
    assert first.held()
    assert not second.held()
    assert first.held()
    assert sole_process(database, "other work").held()
    first.leave()
    assert second.held()
    assert not first.held()
    second.leave()


def test_the_place_of_who_was_killed_is_free(database: str) -> None:
    call = [sys.executable, "-c", HOLDER, database]
    holder = subprocess.Popen(
        call, cwd=HOUSE, stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONPATH": "."}
    )
    waits = sole_process(database, "work")
    try:
        assert holder.stdout
        assert holder.stdout.readline() == "True\n"
        assert not waits.held()
        holder.send_signal(signal.SIGKILL)
        holder.wait(30)
        while not waits.held():
            pass  # the server notices within a moment
    finally:
        holder.kill()
        waits.leave()


def test_who_lost_the_connection_has_lost_the_place(postgres_database, postgres_server) -> None:
    postgres_database.begin(may_copy=False)
    first = sole_process(postgres_database.url, "work")
    second = sole_process(postgres_database.url, "work")
    assert first.held()
    with postgres_database.engine.connect() as connection:
        others = "SELECT pg_terminate_backend(pid) FROM pg_locks WHERE locktype = 'advisory'"
        connection.execute(sa.text(others))
    while not second.held():
        pass
    with pytest.raises(DBAPIError):
        first.held()
    assert not first.held()
    second.leave()
    assert first.held()
    first.leave()
    postgres_database.end()
