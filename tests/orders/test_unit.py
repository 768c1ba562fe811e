"""The unit runs a verb whole or not at all, and again when another one was in the way."""

import shutil
import sqlite3
from concurrent.futures import ThreadPoolExecutor, wait
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError, OperationalError

from portal.orders.kernel.errors import Busy, Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.unit import TRIES, TRIES_ON_A_TAKEN_KEY
from portal.store import engine
from portal.store.tables import IdempotencyKey, Tag
from tests.conftest import unit_at

TOKEN = "a-token-of-a-form"


def in_the_way() -> OperationalError:
    cause = sqlite3.OperationalError("database is locked")
    cause.sqlite_errorcode = sqlite3.SQLITE_BUSY
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


def press(unit, token, answer, verb="book"):
    runs = []

    def work():
        runs.append(1)
        return answer

    told = unit.write(lambda session: idempotent(session, token, verb, unit.now(), work))
    return told, len(runs)


def test_a_button_pressed_twice_gets_the_first_answer(unit) -> None:
    assert press(unit, TOKEN, {"code": "A"}) == ({"code": "A"}, 1)
    assert press(unit, TOKEN, {"code": "B"}) == ({"code": "A"}, 0)


def test_another_form_is_another_press(unit) -> None:
    press(unit, TOKEN, {"code": "A"})
    assert press(unit, TOKEN + "2", {"code": "B"}) == ({"code": "B"}, 1)


@pytest.mark.parametrize("token", ["", "short", "x" * 41])
def test_a_form_without_its_token_is_refused(unit, token) -> None:
    with pytest.raises(Refused):
        press(unit, token, {})


def test_a_token_serves_one_verb_only(unit) -> None:
    press(unit, TOKEN, {"code": "A"})
    with pytest.raises(Refused):
        press(unit, TOKEN, {}, verb="hand_back")


def test_a_button_whose_verb_failed_may_be_pressed_again(unit) -> None:
    def fails():
        raise Refused("no")

    with pytest.raises(Refused):
        unit.write(lambda session: idempotent(session, TOKEN, "book", unit.now(), fails))
    with unit.read() as session:
        assert session.get(IdempotencyKey, TOKEN) is None
    assert press(unit, TOKEN, {"code": "A"}) == ({"code": "A"}, 1)


def test_a_commit_that_found_a_reader_in_the_way_leaves_nothing_behind(
    sqlite_model: Path, tmp_path: Path, clock, monkeypatch
) -> None:
    path = shutil.copy(sqlite_model, tmp_path / "portal.sqlite3")
    monkeypatch.setattr(engine, "BUSY_SECONDS", 0.02)
    unit = unit_at(f"sqlite:///{path}", clock)
    reader = sqlite3.connect(path)
    reader.execute("BEGIN")
    reader.execute("SELECT * FROM tag").fetchone()
    with pytest.raises(Busy):
        unit.write(lambda session: session.add(Tag(number="T-900")))
    reader.rollback()
    # nobody holds a lock of the tries any more, and the connection serves the next verb
    sqlite3.connect(path, timeout=0).execute("BEGIN EXCLUSIVE").connection.close()
    unit.write(lambda session: session.add(Tag(number="T-900")))
    reader.close()
    unit.close()
