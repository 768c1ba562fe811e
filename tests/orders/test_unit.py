"""A verb runs whole or not at all, again when another was in the way, and once for a token."""

import shutil
import sqlite3
from concurrent.futures import ThreadPoolExecutor, wait
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError, OperationalError

from portal.orders.kernel.errors import Busy, Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.unit import TRIES, TRIES_ON_A_TAKEN_KEY, read_only, transactional
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

    @transactional
    @idempotent(verb)
    def work(unit, session, answer, *, once_token):
        runs.append(1)
        return answer

    return work(unit, answer, once_token=token), len(runs)


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
    @transactional
    @idempotent("book")
    def fails(unit, session, *, once_token):
        raise Refused("no")

    with pytest.raises(Refused):
        fails(unit, once_token=TOKEN)
    with unit.read() as session:
        assert session.get(IdempotencyKey, TOKEN) is None
    assert press(unit, TOKEN, {"code": "A"}) == ({"code": "A"}, 1)


def test_one_value_is_stored_by_the_name_of_the_answer(unit) -> None:
    values = iter([7, 8])

    @transactional
    @idempotent("raise_finding", answer="finding")
    def number(unit, session, *, once_token):
        return next(values)

    assert [number(unit, once_token=TOKEN), number(unit, once_token=TOKEN)] == [7, 7]
    with unit.read() as session:
        assert session.get_one(IdempotencyKey, TOKEN).answer == {"finding": 7}


def test_a_verb_without_an_answer_gives_none_both_times(unit) -> None:
    runs = []

    @transactional
    @idempotent("pay")
    def pay(unit, session, *, once_token):
        runs.append(1)

    assert [pay(unit, once_token=TOKEN), pay(unit, once_token=TOKEN)] == [None, None]
    assert runs == [1]


def test_the_key_and_the_work_are_written_together(unit) -> None:
    """The verb fails after the key was written: a part of a verb can be idempotent too."""

    @idempotent("book")
    def part(unit, session, *, once_token):
        session.add(Tag(number="T-900"))

    @transactional
    def whole(unit, session):
        part(unit, session, once_token=TOKEN)
        raise Refused("no")

    with pytest.raises(Refused):
        whole(unit)
    with unit.read() as session:
        assert session.get(IdempotencyKey, TOKEN) is None
        assert session.get(Tag, "T-900") is None


def test_a_verb_that_takes_no_token_can_not_be_idempotent() -> None:
    def verb(unit, session):
        """Take no token."""

    with pytest.raises(TypeError, match="verb takes no once_token"):
        idempotent("book")(verb)


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
            sqlite3.connect(path, timeout=0) as other,
            pytest.raises(sqlite3.OperationalError, match="locked"),
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
