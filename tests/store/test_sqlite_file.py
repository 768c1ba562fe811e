"""The embedded database as a file: copied whole while it is in use, and readable by us alone."""

import stat
from contextlib import closing
from pathlib import Path

import sqlalchemy as sa

from portal.store import migrations, sqlite_file
from portal.store.engine import begin_writing, make_engine, make_sessions
from portal.store.sqlite_driver import driver
from portal.store.tables import Tag


def path_of(url: str) -> Path:
    return Path(url.removeprefix("sqlite:///"))


def beside(path: Path) -> set[str]:
    return {one.name.removeprefix(path.name) for one in path.parent.glob(f"{path.name}*")}


def add(engine: sa.Engine, number: str) -> None:
    with make_sessions(engine)() as session:
        begin_writing(session)
        session.add(Tag(number=number))
        session.commit()


def tags(path: Path) -> list[str]:
    with closing(driver.connect(path)) as link:
        return [row[0] for row in link.execute("SELECT number FROM tag")]


def test_a_copy_has_what_still_stands_in_the_journal(sqlite_bare: str, tmp_path: Path) -> None:
    path, copied = path_of(sqlite_bare), tmp_path / "copy"
    engine = make_engine(sqlite_bare)
    add(engine, "1")
    sqlite_file.copy(path, copied)
    sqlite_file.make_one_file(copied)
    assert tags(copied) == ["1"]
    assert beside(copied) == {""}
    engine.dispose()


def test_a_database_that_is_in_use_can_become_an_older_copy(
    sqlite_bare: str, tmp_path: Path
) -> None:
    path, copied = path_of(sqlite_bare), tmp_path / "copy"
    engine = make_engine(sqlite_bare)
    add(engine, "1")
    sqlite_file.copy(path, copied)
    add(engine, "2")
    sqlite_file.copy(copied, path)
    with engine.connect() as connection:
        assert connection.execute(sa.select(Tag.number)).scalars().all() == ["1"]
    engine.dispose()


def test_nobody_else_can_read_the_database_its_journal_or_its_copies(tmp_path: Path) -> None:
    path, copied = tmp_path / "new" / "portal.sqlite3", tmp_path / "copy"
    migrations.upgrade(f"sqlite:///{path}")
    engine = make_engine(f"sqlite:///{path}")
    add(engine, "1")
    sqlite_file.copy(path, copied)
    found = [*path.parent.iterdir(), copied]
    assert {stat.S_IMODE(one.stat().st_mode) for one in found} == {0o600}
    engine.dispose()


def test_what_is_no_database_is_told_from_one(sqlite_bare: str, tmp_path: Path) -> None:
    (tmp_path / "no").write_text("not a database", encoding="ascii")
    assert sqlite_file.is_sound(path_of(sqlite_bare))
    assert not sqlite_file.is_sound(tmp_path / "no")
    assert not sqlite_file.is_sound(tmp_path / "not there")
