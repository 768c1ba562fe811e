"""A letter to somebody without an e-mail address is kept: what it says is told by telephone."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.words import allow_fewer, allow_more

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

letter = sa.table("letter", sa.column("state"))


def upgrade() -> None:
    allow_more("letter", "state", "letterstate", "no_address")


def downgrade() -> None:
    op.execute(sa.delete(letter).where(letter.c.state == "no_address"))
    allow_fewer("letter", "state", "letterstate", "no_address")
