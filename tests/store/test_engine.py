"""How transactions begin: sound journals, writers that queue, readers that see one moment."""

import contextlib
import threading
import types
from pathlib import Path

import pytest
import sqlalchemy as sa

from portal.store.engine import (
    begin_reading,
    begin_writing,
    facts,
    is_conflict,
    make_engine,
    make_sessions,
    wipe,
)
from portal.store.sqlite_driver import chosen, driver, wal_is_sound
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


def of_version(*version: int) -> types.SimpleNamespace:
    return types.SimpleNamespace(sqlite_version_info=version)


def test_the_first_library_with_a_sound_log_is_used_and_else_pythons_own() -> None:
    old, mended, newer = of_version(3, 40, 1), of_version(3, 51, 3), of_version(3, 53, 4)
    assert chosen(old, newer) is newer
    assert chosen(mended, newer) is mended
    assert chosen(old, of_version(3, 51, 2)) is old
    assert chosen(old) is old


def test_each_connection_keeps_the_rules_of_the_house(bare: str) -> None:
    engine = make_engine(bare)
    told = facts(engine)
    if told.database == "SQLite":
        with engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2  # FULL
            assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
        assert told.version == driver.sqlite_version
        sound = wal_is_sound(driver.sqlite_version_info)
        assert told.journal == ("wal" if sound else "delete")
    else:
        assert told.database == "PostgreSQL"
    engine.dispose()


def without_the_log(monkeypatch) -> None:
    """Let the portal think that its SQLite has a log that is not sound."""
    monkeypatch.setattr("portal.store.engine.wal_is_sound", lambda _version: False)


def test_without_a_sound_log_there_is_the_journal_of_before(sqlite_bare: str, monkeypatch) -> None:
    engine = make_engine(sqlite_bare)
    before = facts(engine).journal
    engine.dispose()
    without_the_log(monkeypatch)
    engine = make_engine(sqlite_bare)
    assert (before, facts(engine).journal) == (
        "wal" if wal_is_sound(driver.sqlite_version_info) else "delete",
        "delete",
    )
    engine.dispose()


def test_a_reader_sees_one_moment_and_keeps_no_writer_waiting(bare: str, monkeypatch) -> None:
    """With PostgreSQL, and with SQLite's log where this SQLite's log is sound."""
    log = not bare.startswith("sqlite") or wal_is_sound(driver.sqlite_version_info)
    waits = pytest.raises(sa.exc.OperationalError, match="locked")
    with contextlib.nullcontext() if log else waits:
        write_beside_a_reader(bare, monkeypatch)


def write_beside_a_reader(bare: str, monkeypatch) -> None:
    monkeypatch.setattr("portal.store.engine.BUSY_SECONDS", 0.05)
    engine = make_engine(bare)
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


def test_with_the_journal_of_before_a_reader_is_waited_for(sqlite_bare: str, monkeypatch) -> None:
    """The control of the test above; also what a page would cost a scan there."""
    without_the_log(monkeypatch)
    with pytest.raises(sa.exc.OperationalError, match="locked"):
        write_beside_a_reader(sqlite_bare, monkeypatch)


def test_files_are_not_written_anew_beside_a_reader_and_it_is_said(
    sqlite_bare: str, monkeypatch
) -> None:
    """With a log the old pages would stay where they are, and nobody would know."""
    monkeypatch.setattr("portal.store.engine.BUSY_SECONDS", 0.05)
    engine = make_engine(sqlite_bare)
    with make_sessions(engine)() as reader:
        begin_reading(reader)
        with pytest.raises(driver.OperationalError, match="locked"):
            wipe(engine)
    wipe(engine)
    log = Path(sqlite_bare.removeprefix("sqlite:///") + "-wal")
    assert not log.exists() or not log.stat().st_size
    engine.dispose()


def test_a_log_that_begins_again_keeps_nothing_of_the_one_before(sqlite_bare: str) -> None:
    engine = make_engine(sqlite_bare)
    if facts(engine).journal == "wal":
        log = Path(sqlite_bare.removeprefix("sqlite:///") + "-wal")
        for rows in (2000, 1):
            with make_sessions(engine)() as session:
                begin_writing(session)
                session.add_all(Tag(number=f"{rows}-{n}") for n in range(rows))
                session.commit()
                session.connection().exec_driver_sql("PRAGMA wal_checkpoint")
        assert log.stat().st_size < 40_000
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
