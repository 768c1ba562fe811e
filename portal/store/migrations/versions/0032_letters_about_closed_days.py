"""A letter and an event about a day on which the works is closed."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.verbs import add_verbs, remove_verbs
from portal.store.migrations.words import allow_fewer, allow_more

revision = "0032"
down_revision = "0030"
branch_labels = None
depends_on = None

letter = sa.table("letter", sa.column("kind"))


def upgrade() -> None:
    allow_more("letter", "kind", "letterkind", "closed")
    add_verbs("move", "closed_day")


def downgrade() -> None:
    remove_verbs("move", "closed_day")
    op.execute(sa.delete(letter).where(letter.c.kind == "closed"))
    allow_fewer("letter", "kind", "letterkind", "closed")
