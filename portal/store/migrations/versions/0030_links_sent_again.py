"""Who lost the slip has the link sent again by letter."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.words import allow_fewer, allow_more

revision = "0030"
down_revision = "0031"
branch_labels = None
depends_on = None

KIND = "status_links"
letter = sa.table("letter", sa.column("kind"))


def upgrade() -> None:
    allow_more("letter", "kind", "letterkind", KIND)


def downgrade() -> None:
    op.execute(sa.delete(letter).where(letter.c.kind == KIND))
    allow_fewer("letter", "kind", "letterkind", KIND)
