"""`backup` and `restore`: what is copied is checked, and nothing is lost on the way back."""

import stat
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa

from portal.cli import main
from portal.cli.erased import erased_before
from portal.cli.opening import opened
from portal.settings import read_settings
from portal.store import migrations
from portal.store.jobs import ERASED
from portal.store.sqlite_driver import driver
from portal.store.tables import Customer, Job
from tests.factories import a_booked_job


@pytest.fixture
def house(tmp_path: Path, monkeypatch) -> Path:
    """A folder for data, and an environment that says so."""
    for name in ("DATABASE_URL", "PORTAL_DEMO", "LC_ALL", "LC_MESSAGES"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("PORTAL_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("LANG", "en_GB.UTF-8")
    return tmp_path


@pytest.fixture
def here(house: Path, unit, database: str) -> Path:
    """The embedded database with three jobs, copied from the test's own."""
    for _ in range(3):
        a_booked_job(unit)
    file = house / "data" / "portal.sqlite3"
    file.parent.mkdir()
    with (
        closing(driver.connect(database.removeprefix("sqlite:///"))) as source,
        closing(driver.connect(file)) as copy,
    ):
        source.backup(copy)
    return file


def jobs_in(file: Path) -> int:
    with closing(driver.connect(file)) as base:
        return int(base.execute("SELECT count(*) FROM job").fetchone()[0])


def run(*words: object) -> int:
    return main([str(word) for word in words])


def said(capsys) -> str:
    """What a verb said, in one line and without a traceback."""
    out = capsys.readouterr()
    text = (out.out + out.err).strip()
    assert "Traceback" not in text
    return text


def drop_jobs(file: Path, count: int) -> None:
    with closing(driver.connect(file)) as base:
        base.execute("PRAGMA foreign_keys=OFF")
        base.execute("DELETE FROM job WHERE id IN (SELECT id FROM job LIMIT ?)", (count,))
        base.commit()


def test_a_copy_has_what_still_stands_in_the_journal(here: Path, house: Path) -> None:
    with closing(driver.connect(here)) as base:
        base.execute("PRAGMA journal_mode=WAL")
        base.execute("INSERT INTO tag (number, retired) VALUES ('T-1', 0)")
        base.commit()
        run("backup", house / "copy")
    with closing(driver.connect(house / "copy")) as copy:
        assert copy.execute("SELECT number FROM tag WHERE number = 'T-1'").fetchall()
    assert [one.name for one in house.glob("*copy*")] == ["copy"]


def test_a_copy_is_whole_counted_and_its_owners_alone(here: Path, house: Path, capsys) -> None:
    copy = house / "copy"
    assert run("backup", copy) == 0
    assert "3 jobs" in said(capsys)
    assert jobs_in(copy) == 3
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600
    assert sorted(one.name for one in house.iterdir()) == ["copy", "data"]


def test_there_is_no_copy_of_nothing(house: Path, capsys) -> None:
    assert run("backup", house / "copy") == 2
    assert "There is no database at" in said(capsys)
    assert not (house / "copy").exists()
    assert not (house / "data" / "portal.sqlite3").exists()


def test_a_copy_that_cannot_be_written_says_why(here: Path, house: Path, capsys) -> None:
    assert run("backup", house / "none" / "copy") == 2
    assert "No such file or directory" in said(capsys)


def _empty(file: Path) -> None:
    file.touch()


def _of_somebody_else(file: Path) -> None:
    with closing(driver.connect(file)) as base:
        base.execute("CREATE TABLE pigeons (name TEXT)")
        base.commit()


def _text(file: Path) -> None:
    file.write_text("this is no database\n" * 50, encoding="utf-8")


def _broken(file: Path) -> None:
    whole = bytearray((file.parent / "data" / "portal.sqlite3").read_bytes())
    for page in range(5, len(whole) // 4096, 3):
        whole[page * 4096 : page * 4096 + 64] = b"\xff" * 64
    file.write_bytes(whole)


def _newer(file: Path) -> None:
    file.write_bytes((file.parent / "data" / "portal.sqlite3").read_bytes())
    with closing(driver.connect(file)) as base:
        base.execute("UPDATE alembic_version SET version_num = '9999'")
        base.commit()


@pytest.mark.parametrize("spoil", [_empty, _of_somebody_else, _text, _broken, _newer])
@pytest.mark.parametrize("force", [(), ("--force",)])
def test_what_is_no_copy_of_ours_changes_nothing(here, house, capsys, spoil, force) -> None:
    wrong = house / "wrong"
    spoil(wrong)
    before = here.read_bytes()
    assert run("restore", wrong, *force) == 2
    assert "Nothing was changed" in said(capsys)
    assert here.read_bytes() == before
    assert [one.name for one in here.parent.glob("before-*")] == []


@pytest.mark.parametrize("gone", [1, 3])
def test_fewer_jobs_come_back_only_by_force(here: Path, house: Path, capsys, gone: int) -> None:
    copy = house / "copy"
    run("backup", copy)
    drop_jobs(copy, gone)
    capsys.readouterr()
    assert run("restore", copy) == 2
    assert "There are 3 jobs here" in said(capsys)
    assert jobs_in(here) == 3
    assert run("restore", copy, "--force") == 0
    assert jobs_in(here) == 3 - gone


def test_each_restore_keeps_what_was_there_under_its_own_name(
    here: Path, house: Path, capsys, monkeypatch, clock
) -> None:
    copy = house / "copy"
    run("backup", copy)
    drop_jobs(here, 2)
    monkeypatch.setattr("portal.cli.copies.now", clock.now)
    assert run("restore", copy) == 0
    assert "Restored 3 jobs" in said(capsys)
    clock.advance(minutes=1)
    assert run("restore", copy) == 0
    kept = sorted(here.parent.glob("before-restore-*.sqlite3"))
    assert [jobs_in(one) for one in kept] == [1, 3]
    assert {stat.S_IMODE(one.stat().st_mode) for one in kept} == {0o600}


@pytest.mark.parametrize("spoil", [_text, _broken])
def test_a_copy_takes_the_place_of_a_database_that_is_broken(here, house, capsys, spoil) -> None:
    copy = house / "copy"
    run("backup", copy)
    spoil(here if spoil is _text else house / "wrong")
    if spoil is _broken:
        here.write_bytes((house / "wrong").read_bytes())
    broken = here.read_bytes()
    capsys.readouterr()
    assert run("restore", copy, "--force") == 0
    assert "Restored 3 jobs" in said(capsys)
    assert jobs_in(here) == 3
    assert stat.S_IMODE(here.stat().st_mode) == 0o600
    (kept,) = here.parent.glob("before-restore-*.sqlite3")
    assert kept.read_bytes() == broken


def test_a_copy_of_an_older_form_is_brought_up_and_says_so(here, house, capsys) -> None:
    copy = house / "copy"
    run("backup", copy)
    newest = migrations.head()
    before = max(migrations.forms() - {newest})
    migrations.downgrade(f"sqlite:///{copy}", before)
    here.unlink()
    capsys.readouterr()
    assert run("restore", copy) == 0
    assert f"of the form {before} and was brought to {newest}" in said(capsys)
    assert migrations.current(f"sqlite:///{here}") == newest


def _first_code() -> str:
    with opened(read_settings()) as unit, unit.read() as session:
        return session.scalars(sa.select(Job.code)).first() or ""


def _names() -> list[str]:
    with opened(read_settings()) as unit, unit.read() as session:
        return list(session.scalars(sa.select(Customer.name)))


def test_who_was_erased_does_not_come_back(here: Path, house: Path, capsys) -> None:
    copy = house / "copy"
    run("backup", copy)
    code = _first_code()
    (here.parent / "erased.txt").write_text(f"{code}\nZZZZZZZZ\n", encoding="ascii")
    capsys.readouterr()
    assert run("restore", copy) == 0
    assert "1 customer was erased again" in said(capsys)
    assert _names().count(ERASED) == 1
    assert erased_before(read_settings()) == [code, "ZZZZZZZZ"]


def test_the_sweep_erases_again(here: Path, house: Path, capsys) -> None:
    code = _first_code()
    (here.parent / "erased.txt").write_text(code, encoding="ascii")
    assert run("sweep") == 0
    assert _names().count(ERASED) == 1


def test_without_a_password_nobody_is_added(house: Path, capsys, monkeypatch) -> None:
    def ended(_asks: str) -> str:
        raise EOFError

    monkeypatch.setattr("getpass.getpass", ended)
    assert run("person", "wren") == 2
    assert said(capsys) == "No password was typed. Nothing was changed."
