"""A drop-off may be moved, and a letter tells that, or that an order was called off."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.verbs import add_verbs, remove_verbs
from portal.store.migrations.words import allow_fewer, allow_more

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None

KINDS = ("moved", "called_off")
letter = sa.table("letter", sa.column("kind"))


def upgrade() -> None:
    allow_more("letter", "kind", "letterkind", *KINDS)
    add_verbs("move", "reschedule")


def downgrade() -> None:
    remove_verbs("move", "reschedule")
    op.execute(sa.delete(letter).where(letter.c.kind.in_(KINDS)))
    allow_fewer("letter", "kind", "letterkind", *KINDS)
