"""A later station: its word in every column that holds one, with one call each way.

def upgrade() -> None:
    add_stage("polish")

def downgrade() -> None:
    remove_stage("polish", becomes="blast")
"""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations import only_added
from portal.store.migrations.words import allow_fewer, allow_more

# table, column, the name of its check
COLUMNS = (
    ("part", "stage", "partstage"),
    ("forecast", "station", "partstage"),
    ("job_note", "stage", "partstage"),
    ("move", "from_state", "from_state"),
    ("move", "to_state", "to_state"),
)


def add_stage(word: str) -> None:
    """Let parts be at a station, and events, forecasts and notes name it."""
    only_added.release(op.get_bind(), "move")
    for table, column, check in COLUMNS:
        allow_more(table, column, check, word)
    only_added.guard(op.get_bind(), "move")


def remove_stage(word: str, *, becomes: str) -> None:
    """Take a station back; what was there is then at the station `becomes`."""
    only_added.release(op.get_bind(), "move")
    op.execute(sa.text("DELETE FROM forecast WHERE station = :word").bindparams(word=word))
    for table, column, check in COLUMNS:
        rows = sa.table(table, sa.column(column, sa.String))
        there = rows.c[column] == word
        op.execute(sa.update(rows).where(there).values({column: becomes}))
        allow_fewer(table, column, check, word)
    only_added.guard(op.get_bind(), "move")
