"""What a customer changes at the counter; a letter that a later one replaces is kept back."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.verbs import add_verbs, remove_verbs
from portal.store.migrations.words import allow_fewer, allow_more

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

NEW = ("more", "way", "finish")
TAKEN_BACK = "taken_back"
VERBS = ("hand_back_undone", "not_fetched", "reminded")
letter = sa.table("letter", sa.column("state"), sa.column("kind"))
job = sa.table("job", sa.column("state"))
finding = sa.table("finding", sa.column("kind"))


def upgrade() -> None:
    allow_more("finding", "kind", "differencekind", *NEW)
    allow_more("letter", "state", "letterstate", TAKEN_BACK)
    allow_more("letter", "kind", "letterkind", "not_fetched")
    allow_more("job", "state", "jobstate", "not_fetched")
    add_verbs("move", *VERBS)


def downgrade() -> None:
    op.execute(sa.update(finding).where(finding.c.kind.in_(NEW)).values(kind="other"))
    allow_fewer("finding", "kind", "differencekind", *NEW)
    op.execute(sa.update(letter).where(letter.c.state == TAKEN_BACK).values(state="given_up"))
    allow_fewer("letter", "state", "letterstate", TAKEN_BACK)
    op.execute(sa.delete(letter).where(letter.c.kind == "not_fetched"))
    allow_fewer("letter", "kind", "letterkind", "not_fetched")
    op.execute(sa.update(job).where(job.c.state == "not_fetched").values(state="called_off"))
    allow_fewer("job", "state", "jobstate", "not_fetched")
    remove_verbs("move", *VERBS)
