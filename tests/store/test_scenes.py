"""A scene is played once and copied from then on, and nothing else tells the two apart."""

from collections.abc import Iterator

import pytest
import sqlalchemy as sa

from portal.orders.kernel.unit import UnitOfWork
from portal.store.sqlite_driver import driver
from portal.store.tables import Job, Move
from tests import run
from tests.conftest import Clock, unit_at, unit_on
from tests.databases import Database, scene
from tests.factories import Booked, a_booked_job, a_job_in_work

played: list[str] = []


@scene
def a_guest(unit: UnitOfWork, name: str) -> Booked:
    played.append(name)
    return a_booked_job(unit, name=name)


@pytest.fixture(autouse=True)
def nothing_played(database_of_test: Database) -> Iterator[None]:
    """No scene of this file was played before, here or in another process."""
    played.clear()
    database_of_test.root.after.clear()
    database_of_test.shares = False
    yield
    database_of_test.shares = True


def rows(unit: UnitOfWork) -> list[tuple[str, str]]:
    with unit.read() as session:
        jobs = session.scalars(sa.select(Job).order_by(Job.id))
        return [(job.customer.name, job.code) for job in jobs]


def copies(database: Database) -> bool:
    return database.url.startswith("sqlite")


def test_the_second_time_it_is_copied_and_all_is_as_the_first_time(
    database_of_test: Database, unit: UnitOfWork
) -> None:
    first = a_guest(unit, "Ash"), a_guest(unit, "Bo"), rows(unit), unit.random_bytes(8)
    database_of_test.begin(may_copy=True)
    fresh = unit_at(database_of_test.url, Clock())
    unit.random_bytes = fresh.random_bytes
    fresh.close()
    assert rows(unit) == []
    again = a_guest(unit, "Ash"), a_guest(unit, "Bo"), rows(unit), unit.random_bytes(8)
    assert again == first
    assert played == (["Ash", "Bo"] if copies(database_of_test) else ["Ash", "Bo"] * 2)


def test_the_same_scene_twice_is_two_of_a_kind(unit: UnitOfWork) -> None:
    made = [a_booked_job(unit) for _ in range(6)]
    assert len({one.code for one in made}) == 6


def test_what_was_written_before_it_is_never_lost(
    database_of_test: Database, unit: UnitOfWork
) -> None:
    a_guest(unit, "Ash")
    database_of_test.begin(may_copy=True)
    kept = a_booked_job(unit, name="Kit")
    unit.write(lambda session: session.execute(sa.update(Job).values(vehicle="blue van")))
    a_guest(unit, "Ash")
    with unit.read() as session:
        assert session.get_one(Job, kept.job_id).vehicle == "blue van"
    assert played == ["Ash", "Ash"]


def test_a_write_by_another_process_is_seen_too(sqlite_database: Database) -> None:
    sqlite_database.begin(may_copy=True)
    assert sqlite_database.is_untouched()
    other = driver.connect(sqlite_database.url.removeprefix("sqlite:///"))
    other.execute("CREATE TABLE planted (one)")
    other.close()
    assert not sqlite_database.is_untouched()


def test_where_something_is_patched_it_is_played_anew(
    database_of_test: Database, unit: UnitOfWork
) -> None:
    a_guest(unit, "Ash")
    database_of_test.begin(may_copy=False)
    a_guest(unit, "Ash")
    assert played == ["Ash", "Ash"]


def test_another_time_is_another_scene(database_of_test: Database, clock: Clock) -> None:
    unit = unit_on(database_of_test.engine, clock)
    a_guest(unit, "Ash")
    database_of_test.begin(may_copy=True)
    clock.advance(days=1)
    a_guest(unit, "Ash")
    assert played == ["Ash", "Ash"]


def test_a_scene_within_a_scene_is_kept_on_its_way(
    database_of_test: Database, unit: UnitOfWork
) -> None:
    job = a_job_in_work(unit)
    database_of_test.begin(may_copy=True)
    booked = a_booked_job(unit)
    with unit.read() as session:
        assert session.scalar(sa.select(sa.func.count()).where(Move.job_id == job.job_id)) == 0
    assert booked.job_id == job.job_id


def test_of_one_scene_played_twice_at_once_no_part_goes_to_the_other(
    database_of_test: Database, unit: UnitOfWork
) -> None:
    database_of_test.shares = True
    first = a_guest(unit, "Ash")
    a_guest(unit, "Bo")
    # another process that has begun before the first was ready, with chances of its own
    database_of_test.root.after.clear()
    database_of_test.begin(may_copy=True)
    database_of_test.played += 1
    with pytest.MonkeyPatch.context() as not_ready:
        not_ready.setattr(run, "read", lambda _name: None)
        own = a_guest(unit, "Ash")
    a_guest(unit, "Bo")
    assert own.code != first.code
    assert ("Ash", own.code) in rows(unit)
