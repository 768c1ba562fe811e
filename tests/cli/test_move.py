"""`move`: everything arrives on PostgreSQL as it was, or nothing does and one sentence says why."""

import itertools
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa

from portal.cli import main
from portal.orders.kernel.job_search import find
from portal.store import migrations, transfer
from portal.store.engine import make_engine
from portal.store.sqlite_driver import driver
from portal.store.tables import Base, Job, Letter
from tests.cli.random_rows import fill
from tests.conftest import Clock, named, on_server, unit_at
from tests.day.day import close, play
from tests.day.garage import garage
from tests.deep import DEEP
from tests.factories import a_booked_job
from tests.store import released

NUMBERS = itertools.count(1)


@pytest.fixture(scope="module")
def empty_form(postgres_server: str) -> str:
    """A database of the newest form without a row, to be copied from."""
    on_server(postgres_server, "CREATE DATABASE empty_form")
    migrations.upgrade(named(postgres_server, "empty_form"))
    return "empty_form"


@pytest.fixture
def here(tmp_path: Path, monkeypatch, database: str) -> Path:
    """An embedded database: the shop, and what a test adds to it."""
    for name in ("PORTAL_DEMO", "LC_ALL", "LC_MESSAGES"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("PORTAL_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("LANG", "en_GB.UTF-8")
    file = tmp_path / "data" / "portal.sqlite3"
    file.parent.mkdir()
    with (
        closing(driver.connect(database.removeprefix("sqlite:///"))) as source,
        closing(driver.connect(file)) as copy,
    ):
        source.backup(copy)
    return file


def files_with_rows(folder: Path) -> list[str]:
    """The files but SQLite's list of who reads, and a log with nothing in it."""
    found = [one for one in folder.iterdir() if not one.name.endswith("-shm")]
    return sorted(one.name for one in found if one.stat().st_size)


def made(server: str, template: str = "template0") -> str:
    name = f"moved_{next(NUMBERS)}"
    on_server(server, f"CREATE DATABASE {name} TEMPLATE {template} STRATEGY FILE_COPY")
    return named(server, name)


@pytest.fixture
def target(postgres_server: str, empty_form: str, monkeypatch) -> Iterator[str]:
    url = made(postgres_server, empty_form)
    monkeypatch.setenv("DATABASE_URL", url)
    yield url
    on_server(postgres_server, f"DROP DATABASE {url.rpartition('/')[2]} WITH (FORCE)")


def said(capsys) -> str:
    out = capsys.readouterr()
    text = (out.out + out.err).strip()
    assert "Traceback" not in text
    return text


def rows_in(url: str) -> dict[str, int]:
    engine = make_engine(url)
    with engine.connect() as connection:
        counted = {
            table.name: connection.scalar(sa.select(sa.func.count()).select_from(table)) or 0
            for table in Base.metadata.sorted_tables
        }
    engine.dispose()
    return counted


def everything(url: str) -> dict[str, list[str]]:
    """All rows as the house's own types read them: another way than that of the verb."""
    engine = make_engine(url)
    with engine.connect() as connection:
        found = {
            table.name: sorted(map(repr, connection.execute(sa.select(table))))
            for table in Base.metadata.sorted_tables
        }
    engine.dispose()
    return found


def test_a_day_of_work_arrives_and_goes_on(here, target, capsys) -> None:
    clock = Clock()
    unit = unit_at(f"sqlite:///{here}", clock)
    day = play(unit, clock.advance, 3, size=1)
    garage(day, 1)
    close(day)
    unit.close()
    before = here.read_bytes()
    assert main(["move"]) == 0
    assert "nothing differs" in said(capsys)
    assert here.read_bytes() == before
    assert files_with_rows(here.parent) == ["portal.sqlite3", "secret_key"]
    assert everything(target) == everything(f"sqlite:///{here}")
    moved = unit_at(target, clock, seed=99)
    greatest = max(_ids(moved))
    booked = a_booked_job(moved)
    assert max(_ids(moved)) == greatest + 1
    assert len(find(moved, booked.code)) == 1
    moved.close()


def _ids(unit) -> list[int]:
    with unit.read() as session:
        return list(session.scalars(sa.select(Job.id)))


@pytest.mark.skipif(not DEEP, reason="a week of rows through every migration; DEEP=1")
def test_the_week_of_the_demo_arrives(here: Path, target, capsys) -> None:
    here.unlink()
    ours = f"sqlite:///{here}"
    released.fill(ours, released.forms()[-1])
    migrations.upgrade(ours)
    assert main(["move"]) == 0
    assert "28 jobs" in said(capsys)
    assert everything(target) == everything(ours)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_random_rows_of_every_table_arrive(here: Path, target, capsys, seed: int) -> None:
    fill(here, seed)
    ours = rows_in(f"sqlite:///{here}")
    assert [name for name, count in ours.items() if not count] == []
    assert main(["move", str(here)]) == 0
    assert f"{sum(ours.values())} rows" in said(capsys)
    assert rows_in(target) == ours
    _numbers_go_on(target)


def _numbers_go_on(url: str) -> None:
    engine = make_engine(url)
    with engine.connect() as connection:
        for table in Base.metadata.sorted_tables:
            for key in table.primary_key:
                series = connection.scalar(
                    sa.select(sa.func.pg_get_serial_sequence(table.name, key.name))
                )
                if series:
                    last = connection.scalar(sa.select(sa.func.max(key)))
                    assert connection.scalar(sa.select(sa.func.nextval(series))) == last + 1
    engine.dispose()


def test_a_database_without_tables_is_filled_too(here, postgres_server, monkeypatch) -> None:
    url = made(postgres_server)
    monkeypatch.setenv("DATABASE_URL", url)
    assert main(["move"]) == 0
    assert migrations.current(url) == migrations.head()
    assert rows_in(url) == rows_in(f"sqlite:///{here}")


def _with_a_row(_file: Path, url: str) -> None:
    migrations.upgrade(url)
    engine = make_engine(url)
    with engine.begin() as connection:
        connection.execute(sa.text("INSERT INTO tag (number, retired) VALUES ('T-1', false)"))
    engine.dispose()


def _with_a_table_of_somebody_else(_file: Path, url: str) -> None:
    on_server(url, "CREATE TABLE pigeons (name text)")


def _older(file: Path, _url: str) -> None:
    before = max(migrations.forms() - {migrations.head()})
    with closing(driver.connect(file)) as base:
        base.execute("UPDATE alembic_version SET version_num = ?", (before,))
        base.commit()


def _gone(file: Path, _url: str) -> None:
    file.unlink()


def _spoilt(file: Path, _url: str) -> None:
    file.write_text("this is no database", "utf-8")


def _too_long(file: Path, _url: str) -> None:
    with closing(driver.connect(file)) as base:
        base.execute("INSERT INTO tag (number, retired) VALUES (?, 0)", ("9" * 300,))
        base.commit()


def _with_a_null_byte(file: Path, _url: str) -> None:
    with closing(driver.connect(file)) as base:
        base.execute("INSERT INTO tag (number, retired) VALUES (?, 0)", ("T\0",))
        base.commit()


REFUSED = [
    (_with_a_row, "is not empty"),
    (_with_a_table_of_somebody_else, "is not empty"),
    (_older, "Run “migrate” on it first"),
    (_gone, "There is no database at"),
    (_spoilt, "is damaged"),
    (_too_long, "the table tag (value too long"),
    (_with_a_null_byte, "the table tag ("),
]


@pytest.mark.parametrize(("spoil", "why"), REFUSED)
def test_what_cannot_be_moved_is_refused_in_one_sentence(
    here: Path, target: str, capsys, spoil: Callable[[Path, str], None], why: str
) -> None:
    spoil(here, target)
    before = rows_in(target)
    assert main(["move", str(here)]) == 2
    text = said(capsys)
    assert why in text
    assert "\n" not in text
    assert rows_in(target) == before


@pytest.mark.parametrize(
    "url", ["postgresql+psycopg://portal@127.0.0.1:1/none", "sqlite:////tmp/other.sqlite3"]
)
def test_a_target_that_cannot_be_used_is_told(here, monkeypatch, capsys, url: str) -> None:
    monkeypatch.setenv("DATABASE_URL", url)
    assert main(["move", str(here)]) == 2
    text = said(capsys)
    assert "PostgreSQL database" in text
    assert "\n" not in text


SPOILT_ON_THE_WAY = (
    "UPDATE book SET body = cast(replace(cast(body as text), 'e', 'f') as json) WHERE id = 1",
    "UPDATE book SET made_at = made_at + interval '1 microsecond' WHERE id = 2",
    "DELETE FROM book WHERE id = 3",
    "INSERT INTO tag (number, retired) VALUES ('T-1', true)",
)


@pytest.mark.parametrize("statement", SPOILT_ON_THE_WAY)
def test_a_copy_that_differs_is_noticed_and_given_up(
    here, target, capsys, monkeypatch, statement: str
) -> None:
    def spoil(connection: sa.Connection, table: sa.Table) -> None:
        if table.name == Base.metadata.sorted_tables[-1].name:
            connection.exec_driver_sql(statement)

    monkeypatch.setattr(transfer, "_continue_numbers", spoil)
    assert main(["move"]) == 2
    assert "The copy differs in the table" in said(capsys)
    assert sum(rows_in(target).values()) == 0


def test_a_shop_that_is_still_in_use_is_not_moved(here, target, capsys, monkeypatch) -> None:
    continue_numbers = transfer._continue_numbers

    def meanwhile(connection: sa.Connection, table: sa.Table) -> None:
        continue_numbers(connection, table)
        if table.name == Letter.__tablename__:
            with closing(driver.connect(here)) as base:
                base.execute("INSERT INTO tag (number, retired) VALUES ('T-1', 0)")
                base.commit()

    with closing(driver.connect(here)) as base:
        base.execute("PRAGMA journal_mode=WAL")
    monkeypatch.setattr(transfer, "_continue_numbers", meanwhile)
    assert main(["move"]) == 2
    assert "Stop the portal first" in said(capsys)
    assert sum(rows_in(target).values()) == 0
