"""The history ends at the tables, on both databases, and can be walked with data in it."""

import re
from datetime import UTC, datetime
from typing import Any

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from portal.craft.check_kinds import CheckKind
from portal.store import migrations
from portal.store.engine import make_engine
from portal.store.migrations import only_added
from portal.store.migrations.only_added import TYPED
from portal.store.tables import (
    Audit,
    Base,
    Invoice,
    InvoiceJob,
    LedgerEntry,
    Move,
    PartCheck,
    Person,
    Role,
    StockMove,
    TillClosing,
    TillEntry,
)
from tests.store.conftest import Forms

AT = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
KEPT = {
    *("move", "audit", "stock_move", "part_check", "ledger_entry"),
    *("invoice", "invoice_job", "till_closing", "till_entry"),
}

# one that an UPDATE names, where there is no moment
COLUMN = {
    "invoice": "issued_at",
    "invoice_job": "amount_minor",
    "till_closing": "closed_at",
    "till_entry": "closing_id",
}


def dump(engine: sa.Engine) -> dict[str, object]:
    """Tables, columns, keys, checks and indexes as the database itself tells them."""
    looked = sa.inspect(engine)
    out: dict[str, object] = {}
    for table in sorted(set(looked.get_table_names()) - {"alembic_version"}):
        columns = looked.get_columns(table)
        checks = looked.get_check_constraints(table)
        out[table] = {
            "columns": [(c["name"], str(c["type"]), c["nullable"]) for c in columns],
            "key": looked.get_pk_constraint(table),
            "foreign": sorted(map(str, looked.get_foreign_keys(table))),
            "unique": sorted(map(str, looked.get_unique_constraints(table))),
            # words are let in as they come up, so their order says nothing
            "checks": sorted(
                (c["name"], sorted(re.split(r"[\s,\[\]()]+", c["sqltext"]))) for c in checks
            ),
            "indexes": sorted(map(_index, looked.get_indexes(table))),
        }
    return out


def _index(told: Any) -> str:
    """Return an index as a text, with the rows that it is for."""
    options = {name: str(one) for name, one in told.get("dialect_options", {}).items()}
    return str({**told, "dialect_options": options})


def from_the_tables(forms: Forms) -> dict[str, object]:
    """The same dump of a database made straight from the tables."""
    engine = make_engine(forms.empty())
    Base.metadata.create_all(engine)
    found = dump(engine)
    engine.dispose()
    return found


def test_the_newest_migration_makes_exactly_the_tables(bare: str, forms: Forms) -> None:
    engine = make_engine(bare)
    migrated = dump(engine)
    engine.dispose()
    assert migrated == from_the_tables(forms), (
        "the tables have changed; write a migration: python -m portal.store.migrations.new"
    )


def test_alembic_finds_no_difference_either(bare: str) -> None:
    engine = make_engine(bare)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        difference = compare_metadata(context, Base.metadata)
    engine.dispose()
    assert difference == []


def test_a_forgotten_column_is_noticed(bare: str, forms: Forms) -> None:
    engine = make_engine(bare)
    with engine.begin() as connection:
        connection.exec_driver_sql("ALTER TABLE tag ADD COLUMN colour VARCHAR(8)")
    migrated = dump(engine)
    engine.dispose()
    assert migrated != from_the_tables(forms)


def test_up_twice_is_quiet_and_the_number_is_the_head(bare: str) -> None:
    migrations.upgrade(bare)
    assert migrations.current(bare) == migrations.head()


def test_an_empty_database_has_no_number(empty: str) -> None:
    assert migrations.current(empty) == ""


def put_some_rows(url: str) -> None:
    engine = make_engine(url)
    with sa.orm.Session(engine) as session:
        person = Person(login="ada", name="Ada", role=Role.OFFICE, password_hash="x", created_at=AT)
        session.add(person)
        session.flush()
        session.add(Audit(at=AT, person_id=person.id, verb="add_person", what="Ada"))
        session.commit()
    engine.dispose()


def test_down_and_up_again_with_data(bare: str) -> None:
    put_some_rows(bare)
    migrations.downgrade(bare, "base")
    engine = make_engine(bare)
    left = set(sa.inspect(engine).get_table_names()) - {"alembic_version"}
    assert left == set()
    engine.dispose()
    migrations.upgrade(bare)
    put_some_rows(bare)


def test_a_step_that_fails_leaves_the_database_as_it_was(
    empty: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def break_it(*_: object) -> None:
        raise RuntimeError("no power")

    monkeypatch.setattr("portal.store.migrations.only_added.guard", break_it)
    with pytest.raises(RuntimeError, match="no power"):
        migrations.upgrade(empty)
    engine = make_engine(empty)
    assert sa.inspect(engine).get_table_names() == []
    engine.dispose()


@pytest.mark.parametrize("statement", ["UPDATE {0} SET {1} = {1}", "DELETE FROM {}"])
@pytest.mark.parametrize("table", sorted(KEPT))
def test_kept_rows_are_neither_changed_nor_removed(bare: str, table: str, statement: str) -> None:
    engine = make_engine(bare)
    fill_kept_tables(engine)
    with (
        pytest.raises(sa.exc.DBAPIError, match="only ever added"),
        engine.begin() as connection,
    ):
        connection.exec_driver_sql(statement.format(table, COLUMN.get(table, "at")))
    engine.dispose()


@pytest.mark.parametrize("table", sorted(TYPED))
def test_of_a_kept_row_what_was_typed_can_be_emptied_and_nothing_else(
    bare: str, table: str
) -> None:
    engine, typed = make_engine(bare), TYPED[table][0]
    fill_kept_tables(engine)
    with engine.begin() as connection:
        only_added.release(connection, table)
        connection.exec_driver_sql(f"UPDATE {table} SET {typed} = 'Robin was out'")
        only_added.guard(connection, table)
    others = ("id = 77", "job_id = 77", "at = '1999-01-01 00:00:00+00'")
    for change in (f"{typed} = 'x'", *(f"{typed} = '', {one}" for one in others)):
        with (
            pytest.raises(sa.exc.DBAPIError, match="only ever added"),
            engine.begin() as connection,
        ):
            connection.exec_driver_sql(f"UPDATE {table} SET {change}")
    with engine.begin() as connection:
        connection.exec_driver_sql(f"UPDATE {table} SET {typed} = ''")
        assert connection.exec_driver_sql(f"SELECT {typed} FROM {table}").scalars().all() == [""]
    engine.dispose()


def test_truncating_kept_rows_is_refused_too(bare: str) -> None:
    if bare.startswith("sqlite"):
        return  # there is no TRUNCATE; the DELETE above is the same thing
    engine = make_engine(bare)
    with (
        pytest.raises(sa.exc.DBAPIError, match="only ever added"),
        engine.begin() as connection,
    ):
        connection.exec_driver_sql("TRUNCATE move")
    engine.dispose()


def fill_kept_tables(engine: sa.Engine) -> None:
    if engine.dialect.name == "sqlite":
        with engine.connect() as plain:
            plain.connection.cursor().execute("PRAGMA foreign_keys=OFF")
            write_kept(plain)
        return
    with engine.connect() as plain:
        # only the triggers of foreign keys are put aside; ours are what is tested
        for table in sorted(KEPT):
            for key in sa.inspect(engine).get_foreign_keys(table):
                plain.exec_driver_sql(f"ALTER TABLE {table} DROP CONSTRAINT {key['name']}")
        write_kept(plain)


def write_kept(connection: sa.Connection) -> None:
    move = {"job_id": 1, "verb": "receive", "from_": "booked", "to": "received", "at": AT}
    connection.execute(sa.insert(Move).values(**move, note="", data={}))
    connection.execute(sa.insert(StockMove).values(powder_code="P", grams=1, why="load", at=AT))
    entry = {"job_id": 1, "kind": "price", "amount_minor": 100, "reason": "", "at": AT}
    connection.execute(sa.insert(LedgerEntry).values(**entry))
    tested = {"job_id": 1, "part_id": 1, "kind": CheckKind.LEAD, "result": "clear"}
    connection.execute(sa.insert(PartCheck).values(**tested, note="", at=AT))
    connection.execute(sa.insert(Audit).values(at=AT, verb="export", what="a row"))
    sums = {"net_minor": 1, "tax_minor": 0, "charged_minor": 1, "currency": "GBP", "body": {}}
    issued = {"number": "R-1", "series": "R-", "count": 1, "kind": "receipt", "issued_at": AT}
    connection.execute(sa.insert(Invoice).values(**issued, **sums))
    connection.execute(sa.insert(InvoiceJob).values(invoice_id=1, job_id=1, amount_minor=1))
    till = {"opening_minor": 0, "taken_minor": 0, "counted_minor": 0, "banked_minor": 0}
    closed = {"number": 1, "day": AT.date(), "since": AT, "closed_at": AT, "person_id": 1}
    more = {"currency": "GBP", "reason": "", "takings": []}
    connection.execute(sa.insert(TillClosing).values(**till, **closed, **more))
    connection.execute(sa.insert(TillEntry).values(entry_id=1, closing_id=1))
    connection.commit()
