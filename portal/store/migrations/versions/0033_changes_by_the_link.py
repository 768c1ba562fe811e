"""What customers change by their link: who may fetch, when they come, a record to hand on."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.verbs import add_verbs, remove_verbs

revision = "0033"
down_revision = "0037"
branch_labels = None
depends_on = None

NAME = sa.String(120)
COLUMNS = ("may_fetch", "pickup_at", "record_token")
ONE_RECORD = "uq_job_record_token"
VERBS = ("finish", "contact", "may_fetch", "pickup_time", "record_link")


def upgrade() -> None:
    with op.batch_alter_table("job") as batch:
        batch.add_column(sa.Column("may_fetch", NAME, nullable=False, server_default=sa.text("''")))
        batch.add_column(sa.Column("pickup_at", sa.DateTime(timezone=True), nullable=True))
        batch.add_column(sa.Column("record_token", sa.String(32), nullable=True))
        batch.create_unique_constraint(ONE_RECORD, ["record_token"])
    with op.batch_alter_table("job") as batch:
        batch.alter_column("may_fetch", existing_type=NAME, server_default=None)
    add_verbs("move", *VERBS)


def downgrade() -> None:
    remove_verbs("move", *VERBS)
    with op.batch_alter_table("job") as batch:
        batch.drop_constraint(ONE_RECORD, type_="unique")
        for name in COLUMNS:
            batch.drop_column(name)
