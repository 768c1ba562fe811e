"""Letters about the work, and about what a customer changed by the link."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.words import allow_fewer, allow_more

revision = "0039"
down_revision = "0041"
branch_labels = None
depends_on = None

KINDS = ("checked", "on_its_way", "found", "finish_changed", "contact_changed")
letter = sa.table("letter", sa.column("kind"))


def upgrade() -> None:
    allow_more("letter", "kind", "letterkind", *KINDS)


def downgrade() -> None:
    op.execute(sa.delete(letter).where(letter.c.kind.in_(KINDS)))
    allow_fewer("letter", "kind", "letterkind", *KINDS)
