"""What a customer changes at the counter: more parts, another finish, another way of bringing."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.words import allow

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

BEFORE = (
    *("missing", "lost", "damage", "layers", "fitted"),
    *("metal", "size", "closed", "check", "other"),
)
NEW = ("more", "way", "finish")
finding = sa.table("finding", sa.column("kind"))


def upgrade() -> None:
    allow("finding", "kind", "differencekind", (*BEFORE[:2], *NEW, *BEFORE[2:]))


def downgrade() -> None:
    op.execute(sa.update(finding).where(finding.c.kind.in_(NEW)).values(kind="other"))
    allow("finding", "kind", "differencekind", BEFORE)
