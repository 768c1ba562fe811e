"""A verb runs whole or not at all, and again when another one was in the way."""

import shutil
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import suppress
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError, OperationalError

from portal.orders.kernel import unit as unit_module
from portal.orders.kernel.errors import Busy, Refused
from portal.orders.kernel.unit import TRIES, TRIES_ON_A_TAKEN_KEY, read_only, transactional
from portal.store import engine
from portal.store.sqlite_driver import driver
from portal.store.tables import Tag
from tests.conftest import unit_at


def in_the_way() -> OperationalError:
    cause = driver.OperationalError("database is locked")
    cause.sqlite_errorcode = driver.SQLITE_BUSY
    return OperationalError("BEGIN IMMEDIATE", {}, cause)


def test_what_a_verb_writes_is_there_afterwards(unit) -> None:
    unit.write(lambda session: session.add(Tag(number="T-900")))
    with unit.read() as session:
        assert session.get(Tag, "T-900") is not None


def test_a_verb_that_refuses_leaves_nothing(unit) -> None:
    def work(session):
        session.add(Tag(number="T-900"))
        session.flush()
        raise Refused("no")

    with pytest.raises(Refused):
        unit.write(work)
    with unit.read() as session:
        assert session.get(Tag, "T-900") is None


def test_a_verb_is_run_again_whole_when_another_was_in_the_way(unit) -> None:
    runs = []

    def work(session):
        runs.append(session)
        session.add(Tag(number="T-900"))
        session.flush()
        if len(runs) < 3:
            raise in_the_way()
        return "done"

    assert unit.write(work) == "done"
    assert len(runs) == 3


def test_a_look_is_taken_again_when_a_writer_was_in_the_way(unit, monkeypatch) -> None:
    monkeypatch.setattr("portal.orders.kernel.unit.LONGEST_PAUSE", 0.001)
    looks = []

    def look(session):
        looks.append(session)
        if len(looks) < 3:
            raise in_the_way()
        return "seen"

    assert unit.look(look) == "seen"
    assert len(looks) == 3
    with pytest.raises(Busy):
        unit.look(lambda _session: (_ for _ in ()).throw(in_the_way()))


def test_a_snapshot_waits_for_a_writer_who_is_in_the_way(unit, monkeypatch) -> None:
    monkeypatch.setattr("portal.orders.kernel.unit.LONGEST_PAUSE", 0.001)
    begin, begun = unit_module.begin_reading, []

    def begin_reading(session) -> None:
        begun.append(session)
        if len(begun) < 3:
            raise in_the_way()
        begin(session)

    monkeypatch.setattr(unit_module, "begin_reading", begin_reading)
    with unit.read() as session:
        assert session.execute(sa.text("SELECT count(*) FROM job")).scalar() == 0
    assert len(begun) == 3

    def never(_session) -> None:
        raise in_the_way()

    monkeypatch.setattr(unit_module, "begin_reading", never)
    with pytest.raises(Busy), unit.read():
        pass


def test_no_writer_is_in_the_way_of_a_snapshot_that_has_begun(sqlite_model, clock, tmp_path):
    url = f"sqlite:///{shutil.copy(sqlite_model, tmp_path / 'shop.sqlite3')}"
    unit, other = unit_at(url, clock), engine.make_engine(url)
    with unit.read() as session, other.connect() as connection:
        connection.exec_driver_sql("PRAGMA busy_timeout = 10")
        # without a log the writer waits for its reader; with one it goes on
        with suppress(OperationalError):
            connection.exec_driver_sql("DELETE FROM tag")
            connection.commit()
        assert session.execute(sa.text("SELECT count(*) FROM tag")).scalar() > 0
    other.dispose()
    unit.close()


def test_it_gives_up_after_a_bounded_number_of_tries(unit, monkeypatch) -> None:
    monkeypatch.setattr("portal.orders.kernel.unit.LONGEST_PAUSE", 0.001)
    runs = []

    def work(session):
        runs.append(1)
        raise in_the_way()

    with pytest.raises(Busy):
        unit.write(work)
    assert len(runs) == TRIES


def test_an_error_that_is_no_conflict_is_not_tried_again(unit) -> None:
    runs = []

    def work(session):
        runs.append(1)
        session.execute(sa.text("SELECT nothing FROM nowhere"))

    with pytest.raises(sa.exc.DBAPIError):
        unit.write(work)
    assert runs == [1]


def test_a_taken_key_lets_the_verb_pick_the_next(unit) -> None:
    unit.write(lambda session: session.add(Tag(number="T-900")))
    numbers = iter(["T-900", "T-901"])

    def work(session):
        session.add(Tag(number=next(numbers)))
        session.flush()

    unit.write(work)
    with unit.read() as session:
        assert session.get(Tag, "T-901") is not None


def test_a_key_that_is_always_taken_is_our_own_mistake(unit) -> None:
    unit.write(lambda session: session.add(Tag(number="T-900")))
    runs = []

    def work(session):
        runs.append(1)
        session.add(Tag(number="T-900"))
        session.flush()

    with pytest.raises(IntegrityError):
        unit.write(work)
    assert len(runs) == TRIES_ON_A_TAKEN_KEY


def test_a_look_inside_a_look_does_not_wait_for_a_writer_who_waits_for_it(unit) -> None:
    number = sa.select(sa.func.count()).select_from(Tag)
    with unit.read() as session, ThreadPoolExecutor(1) as pool:
        before = session.scalar(number)
        writer = pool.submit(unit.write, lambda own: own.execute(sa.delete(Tag)))
        wait([writer], timeout=0.3)  # on SQLite it stands at its commit now
        with unit.read() as inner:
            assert inner.scalar(number) == before > 0
        session.close()
        writer.result(timeout=5)


def test_a_verb_inside_a_look_is_our_own_mistake(unit) -> None:
    with unit.read(), pytest.raises(AssertionError, match="would wait"):
        unit.write(lambda session: None)


def test_a_look_can_not_write(unit) -> None:
    with unit.read() as session:
        session.add(Tag(number="T-900"))
        with pytest.raises(AssertionError, match="about to write"):
            session.flush()


def test_a_transactional_verb_commits_and_returns(unit) -> None:
    @transactional
    def add(unit, session, number, *, retired):
        """Add a tag."""
        session.add(Tag(number=number, retired=retired))
        return number

    assert add(unit, "T-900", retired=True) == "T-900"
    with unit.read() as session:
        assert session.get_one(Tag, "T-900").retired
    assert (add.__name__, add.__doc__) == ("add", "Add a tag.")


def test_a_transactional_verb_that_refuses_leaves_nothing(unit) -> None:
    @transactional
    def add(unit, session):
        session.add(Tag(number="T-900"))
        session.flush()
        raise Refused("no")

    with pytest.raises(Refused):
        add(unit)
    with unit.read() as session:
        assert session.get(Tag, "T-900") is None


def test_a_transactional_verb_is_run_again_with_what_it_was_given(unit) -> None:
    runs = []

    @transactional
    def add(unit, session, number, *, who):
        runs.append((number, who))
        if len(runs) < 3:
            raise in_the_way()

    add(unit, "T-900", who=3)
    assert runs == [("T-900", 3)] * 3


def test_a_transactional_verb_holds_the_lock_of_the_writer_from_its_beginning(
    sqlite_model: Path, tmp_path: Path, clock, monkeypatch
) -> None:
    """BEGIN IMMEDIATE, before its first statement: sqlite.org/lang_transaction.html."""
    path = shutil.copy(sqlite_model, tmp_path / "portal.sqlite3")
    unit = unit_at(f"sqlite:///{path}", clock)

    @transactional
    def does_nothing(unit, session):
        with (
            driver.connect(path, timeout=0) as other,
            pytest.raises(driver.OperationalError, match="locked"),
        ):
            other.execute("BEGIN IMMEDIATE")
        other.close()

    does_nothing(unit)
    unit.close()


def test_a_transactional_verb_inside_another_or_a_view_is_our_own_mistake(unit) -> None:
    @transactional
    def inner(unit, session):
        """Do nothing."""

    @transactional
    def outer(unit, session):
        inner(unit)

    @read_only
    def view(unit, session):
        inner(unit)

    for one in (outer, view):
        with pytest.raises(AssertionError, match="would wait"):
            one(unit)


def test_a_read_only_view_uses_the_session_that_is_open(unit) -> None:
    @read_only
    def inner(unit, session):
        return session

    @read_only
    def view(unit, session):
        return session, inner(unit)

    @transactional
    def verb(unit, session):
        return session, inner(unit)

    for one in (view, verb):
        own, inner_session = one(unit)
        assert own is inner_session


def test_a_read_only_view_can_not_write(unit) -> None:
    @read_only
    def writes(unit, session):
        session.add(Tag(number="T-900"))
        session.flush()

    with pytest.raises(AssertionError, match="about to write"):
        writes(unit)


def test_a_commit_that_found_a_reader_in_the_way_leaves_nothing_behind(
    sqlite_model: Path, tmp_path: Path, clock, monkeypatch
) -> None:
    path = shutil.copy(sqlite_model, tmp_path / "portal.sqlite3")
    # with a write-ahead log no reader is ever in the way
    monkeypatch.setattr(engine, "wal_is_sound", lambda _version: False)
    monkeypatch.setattr(engine, "BUSY_SECONDS", 0.02)
    unit = unit_at(f"sqlite:///{path}", clock)
    with unit.read():
        """The first connection changes the journal, while nobody else has the file."""
    reader = driver.connect(path)
    reader.execute("BEGIN")
    reader.execute("SELECT * FROM tag").fetchone()
    with pytest.raises(Busy):
        unit.write(lambda session: session.add(Tag(number="T-900")))
    reader.rollback()
    # nobody holds a lock of the tries any more, and the connection serves the next verb
    driver.connect(path, timeout=0).execute("BEGIN EXCLUSIVE").connection.close()
    unit.write(lambda session: session.add(Tag(number="T-900")))
    reader.close()
    unit.close()
