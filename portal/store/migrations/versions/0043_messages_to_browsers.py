"""Messages to browsers: the key that push services know us by, and who shows messages."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.words import allow_fewer, allow_more

revision = "0043"
down_revision = "0039"
branch_labels = None
depends_on = None

letter = sa.table("letter", sa.column("channel"))


def upgrade() -> None:
    op.create_table(
        "push_key",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("private_key", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_push_key")),
    )
    op.create_table(
        "push_subscription",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("endpoint", sa.String(length=500), nullable=False),
        sa.Column("p256dh", sa.String(length=120), nullable=False),
        sa.Column("auth", sa.String(length=40), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["job_id"], ["job.id"], name=op.f("fk_push_subscription_job_id_job")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_push_subscription")),
        sa.UniqueConstraint(
            "job_id", "endpoint", name=op.f("uq_push_subscription_job_id_endpoint")
        ),
    )
    allow_more("letter", "channel", "channel", "push")


def downgrade() -> None:
    op.execute(sa.delete(letter).where(letter.c.channel == "push"))
    allow_fewer("letter", "channel", "channel", "push")
    op.drop_table("push_subscription")
    op.drop_table("push_key")
