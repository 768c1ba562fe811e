"""What a customer changes at the counter; a letter that a later one replaces is kept back."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.words import allow

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

BEFORE = (
    *("missing", "lost", "damage", "layers", "fitted"),
    *("metal", "size", "closed", "check", "other"),
)
NEW = ("more", "way", "finish")
STATES = ("queued", "sending", "sent", "given_up", "no_address")
TAKEN_BACK = "taken_back"
letter = sa.table("letter", sa.column("state"))
finding = sa.table("finding", sa.column("kind"))


def upgrade() -> None:
    allow("finding", "kind", "differencekind", (*BEFORE[:2], *NEW, *BEFORE[2:]))
    allow("letter", "state", "letterstate", (*STATES, TAKEN_BACK))


def downgrade() -> None:
    op.execute(sa.update(finding).where(finding.c.kind.in_(NEW)).values(kind="other"))
    allow("finding", "kind", "differencekind", BEFORE)
    op.execute(sa.update(letter).where(letter.c.state == TAKEN_BACK).values(state="given_up"))
    allow("letter", "state", "letterstate", STATES)
