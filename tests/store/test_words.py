"""A migration that gives a column other words, on both databases."""

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
import sqlalchemy as sa
from alembic.migration import MigrationContext
from alembic.operations import Operations

from portal.shop.route import PartStage
from portal.store import migrations
from portal.store.engine import make_engine
from portal.store.migrations.verbs import add_verbs, remove_verbs
from portal.store.migrations.words import allow


def check_of_stage(url: str) -> str:
    engine = make_engine(url)
    checks = sa.inspect(engine).get_check_constraints("part")
    engine.dispose()
    (found,) = (one["sqltext"] for one in checks if one["name"] == "ck_part_partstage")
    return found


def migrate(url: str, step: Callable[[], None]) -> None:
    with migrations.connected(url) as connection:
        context = MigrationContext.configure(
            connection, opts={"render_as_batch": connection.dialect.name == "sqlite"}
        )
        with Operations.context(context):
            step()


def test_a_column_takes_another_word_and_gives_it_back(bare: str) -> None:
    before = check_of_stage(bare)
    assert "'polish'" not in before
    for words, there in (((*PartStage, "polish"), True), (tuple(PartStage), False)):
        migrate(bare, lambda words=words: allow("part", "stage", "partstage", words))
        assert ("'polish'" in check_of_stage(bare)) is there
    assert all(f"'{stage}'" in check_of_stage(bare) for stage in PartStage)


def log(url: str, verb: str, what: str = "") -> None:
    """Write a row of the office's log, without our tables."""
    engine = make_engine(url)
    row = {"at": datetime(2026, 6, 1, 8, 0, tzinfo=UTC), "verb": verb, "what": what}
    audit = sa.table("audit", *(sa.column(name) for name in row))
    with engine.begin() as connection:
        connection.execute(sa.insert(audit).values(row))
    engine.dispose()


def logged(url: str) -> list[tuple[str, str]]:
    engine = make_engine(url)
    with engine.connect() as connection:
        rows = connection.exec_driver_sql("SELECT verb, what FROM audit ORDER BY id").all()
    engine.dispose()
    return [(verb, what) for verb, what in rows]


def test_a_log_takes_later_verbs_from_two_migrations_and_gives_them_back(bare: str) -> None:
    with pytest.raises(sa.exc.IntegrityError):
        log(bare, "polish")
    migrate(bare, lambda: add_verbs("audit", "polish"))
    migrate(bare, lambda: add_verbs("audit", "count", "polish"))
    log(bare, "polish", "a rim")
    log(bare, "polish")
    log(bare, "count", "y" * 400)
    log(bare, "export", "everything")
    migrate(bare, lambda: remove_verbs("audit", "polish"))
    assert logged(bare)[0] == ("other", "polish: a rim")
    migrate(bare, lambda: remove_verbs("audit", "count"))
    assert logged(bare) == [
        ("other", "polish: a rim"),
        ("other", "polish"),
        ("other", f"count: {'y' * 393}"),
        ("export", "everything"),
    ]
    with pytest.raises(sa.exc.IntegrityError):
        log(bare, "count")


def test_a_log_stays_one_that_is_only_added_to(bare: str) -> None:
    migrate(bare, lambda: add_verbs("audit", "polish"))
    log(bare, "polish")
    engine = make_engine(bare)
    with pytest.raises(sa.exc.DBAPIError, match="only ever added"), engine.begin() as connection:
        connection.exec_driver_sql("DELETE FROM audit")
    engine.dispose()
