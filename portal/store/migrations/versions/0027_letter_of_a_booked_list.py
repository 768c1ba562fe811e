"""A firm's list that is booked is confirmed by letter."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.words import allow_fewer, allow_more

revision = "0027"
down_revision = "0026"
branch_labels = None
depends_on = None

KIND = "firm_booked"
letter = sa.table("letter", sa.column("kind"))


def upgrade() -> None:
    allow_more("letter", "kind", "letterkind", KIND)


def downgrade() -> None:
    op.execute(sa.delete(letter).where(letter.c.kind == KIND))
    allow_fewer("letter", "kind", "letterkind", KIND)
