"""How transactions begin: sound journals, writers that queue, readers that see one moment."""

import contextlib
import threading

import pytest
import sqlalchemy as sa

from portal.store.engine import (
    begin_reading,
    begin_writing,
    facts,
    is_conflict,
    make_engine,
    make_sessions,
    wal_is_sound,
)
from portal.store.tables import Tag


@pytest.mark.parametrize(
    ("version", "sound"),
    # sqlite.org/wal.html, section on the WAL-reset bug: mended in 3.51.3, 3.50.7, 3.44.6
    [
        ((3, 40, 1), False),
        ((3, 44, 5), False),
        ((3, 44, 6), True),
        ((3, 45, 0), False),
        ((3, 50, 6), False),
        ((3, 50, 7), True),
        ((3, 51, 2), False),
        ((3, 51, 3), True),
        ((3, 52, 0), True),
    ],
)
def test_the_write_ahead_log_is_used_only_where_it_is_sound(
    version: tuple[int, ...], sound: bool
) -> None:
    assert wal_is_sound(version) is sound


def test_each_connection_keeps_the_rules_of_the_house(bare: str) -> None:
    engine = make_engine(bare)
    told = facts(engine)
    if told.database == "SQLite":
        with engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2  # FULL
            assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
        assert told.journal in {"delete", "wal"}
    else:
        assert told.database == "PostgreSQL"
    engine.dispose()


def test_a_reader_sees_one_moment_while_others_write(bare: str) -> None:
    engine = make_engine(bare)
    if facts(engine).journal == "delete":
        engine.dispose()
        return  # there a writer waits until the reader has gone: nothing can change beneath it
    sessions = make_sessions(engine)
    with sessions() as reader:
        begin_reading(reader)
        count = sa.select(sa.func.count()).select_from(Tag)
        before = reader.scalar(count)
        with sessions() as writer:
            begin_writing(writer)
            writer.add(Tag(number="1"))
            writer.commit()
        assert reader.scalar(count) == before
    engine.dispose()


def add_when_empty(sessions, begin, barrier, wins, conflicts) -> None:
    """Read, wait for the other, then write what was read: the classical lost update."""
    with sessions() as session:
        begin(session)
        count = session.scalar(sa.select(sa.func.count()).select_from(Tag))
        # a barrier that breaks means that the other one was made to wait: the guard at work
        with contextlib.suppress(threading.BrokenBarrierError):
            barrier.wait(0.5)
        if count == 0:
            try:
                session.add(Tag(number=threading.current_thread().name))
                session.commit()
                wins.append(1)
            except sa.exc.DBAPIError as error:
                conflicts.append(is_conflict(error))


def race(url: str, begin) -> tuple[int, list[bool]]:
    engine = make_engine(url)
    sessions = make_sessions(engine)
    wins: list[int] = []
    conflicts: list[bool] = []
    barrier = threading.Barrier(2)
    threads = [
        threading.Thread(
            target=add_when_empty, args=(sessions, begin, barrier, wins, conflicts), name=f"T{n}"
        )
        for n in range(2)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    engine.dispose()
    return len(wins), conflicts


def test_of_two_who_read_then_write_one_wins(bare: str) -> None:
    wins, conflicts = race(bare, begin_writing)
    assert wins == 1
    assert all(conflicts)


def test_without_the_writers_beginning_it_goes_wrong(bare: str) -> None:
    """The control: a plain beginning loses an update or fails in a way no waiting can mend."""

    def plain(session) -> None:
        session.connection()

    wins, conflicts = race(bare, plain)
    assert wins == 2 or conflicts == [True]
