"""A migration that gives a column other words, on both databases."""

import sqlalchemy as sa
from alembic.migration import MigrationContext
from alembic.operations import Operations

from portal.shop.route import PartStage
from portal.store import migrations
from portal.store.engine import make_engine
from portal.store.migrations.words import allow


def check_of_stage(url: str) -> str:
    engine = make_engine(url)
    checks = sa.inspect(engine).get_check_constraints("part")
    engine.dispose()
    (found,) = (one["sqltext"] for one in checks if one["name"] == "ck_part_partstage")
    return found


def test_a_column_takes_another_word_and_gives_it_back(bare: str) -> None:
    before = check_of_stage(bare)
    assert "'polish'" not in before
    for words, there in (((*PartStage, "polish"), True), (tuple(PartStage), False)):
        with migrations.connected(bare) as connection:
            context = MigrationContext.configure(
                connection, opts={"render_as_batch": connection.dialect.name == "sqlite"}
            )
            with Operations.context(context):
                allow("part", "stage", "partstage", words)
        assert ("'polish'" in check_of_stage(bare)) is there
    assert all(f"'{stage}'" in check_of_stage(bare) for stage in PartStage)
