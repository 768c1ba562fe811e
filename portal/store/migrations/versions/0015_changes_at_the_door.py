"""What a customer changes at the counter; a letter that a later one replaces is kept back."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.words import allow_fewer, allow_more

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

NEW = ("more", "way", "finish")
TAKEN_BACK = "taken_back"
letter = sa.table("letter", sa.column("state"))
finding = sa.table("finding", sa.column("kind"))


def upgrade() -> None:
    allow_more("finding", "kind", "differencekind", *NEW)
    allow_more("letter", "state", "letterstate", TAKEN_BACK)


def downgrade() -> None:
    op.execute(sa.update(finding).where(finding.c.kind.in_(NEW)).values(kind="other"))
    allow_fewer("finding", "kind", "differencekind", *NEW)
    op.execute(sa.update(letter).where(letter.c.state == TAKEN_BACK).values(state="given_up"))
    allow_fewer("letter", "state", "letterstate", TAKEN_BACK)
