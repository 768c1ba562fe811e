"""What a customer was told of a date is remembered beside the forecast; two letters more."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.verbs import add_verbs, remove_verbs
from portal.store.migrations.words import allow_fewer, allow_more

revision = "0028"
down_revision = "0029"
branch_labels = None
depends_on = None

KINDS = ("on_time", "still_waiting")
VERBS = ("on_time", "asked_again")
letter = sa.table("letter", sa.column("kind"))
COLUMNS = ("told_at", "early_from", "goes_first", "watch")


def upgrade() -> None:
    with op.batch_alter_table("forecast") as batch:
        batch.add_column(sa.Column("told_at", sa.DateTime(timezone=True), nullable=True))
        batch.add_column(sa.Column("early_from", sa.Date(), nullable=True))
        batch.add_column(
            sa.Column("goes_first", sa.Boolean(), nullable=False, server_default=sa.false())
        )
        batch.add_column(
            sa.Column("watch", sa.JSON(), nullable=False, server_default=sa.text("'{}'"))
        )
    with op.batch_alter_table("forecast") as batch:
        for name, kind in (("goes_first", sa.Boolean()), ("watch", sa.JSON())):
            batch.alter_column(name, existing_type=kind, server_default=None)
    allow_more("letter", "kind", "letterkind", *KINDS)
    add_verbs("move", *VERBS)


def downgrade() -> None:
    remove_verbs("move", *VERBS)
    op.execute(sa.delete(letter).where(letter.c.kind.in_(KINDS)))
    allow_fewer("letter", "kind", "letterkind", *KINDS)
    with op.batch_alter_table("forecast") as batch:
        for name in COLUMNS:
            batch.drop_column(name)
