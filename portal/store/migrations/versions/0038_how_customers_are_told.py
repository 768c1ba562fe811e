"""How and of what customers are told: channels, kinds that are switched off, two more kinds."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.words import allow_fewer, allow_more

revision = "0038"
down_revision = "0033"
branch_labels = None
depends_on = None

KINDS = ("coming", "recheck")
ONE, MANY = ("job_id", "kind", "cause"), ("job_id", "kind", "cause", "channel")
letter = sa.table(
    "letter", sa.column("kind"), sa.column("state"), sa.column("channel"), sa.column("unsubscribe")
)


def upgrade() -> None:
    op.create_table(
        "telling_choice",
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("off", sa.JSON(), nullable=False),
        sa.Column("by_text", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_telling_choice_job_id_job")),
        sa.PrimaryKeyConstraint("job_id", name=op.f("pk_telling_choice")),
    )
    with op.batch_alter_table("letter") as batch:
        batch.add_column(
            sa.Column("channel", sa.String(length=24), nullable=False, server_default="email")
        )
        batch.add_column(
            sa.Column("unsubscribe", sa.String(length=300), nullable=False, server_default="")
        )
    with op.batch_alter_table("letter") as batch:
        batch.alter_column("channel", existing_type=sa.String(24), server_default=None)
        batch.alter_column("unsubscribe", existing_type=sa.String(300), server_default=None)
        batch.create_check_constraint(
            op.f("ck_letter_channel"), "channel IN ('email', 'text')"
        )
        batch.drop_constraint(op.f("uq_letter_job_id_kind_cause"), type_="unique")
        batch.create_unique_constraint(op.f("uq_letter_job_id_kind_cause_channel"), MANY)
    allow_more("letter", "kind", "letterkind", *KINDS)
    allow_more("letter", "state", "letterstate", "switched_off")


def downgrade() -> None:
    op.execute(sa.delete(letter).where(letter.c.kind.in_(KINDS)))
    op.execute(sa.delete(letter).where(letter.c.channel != "email"))
    op.execute(
        sa.update(letter).where(letter.c.state == "switched_off").values(state="taken_back")
    )
    allow_fewer("letter", "state", "letterstate", "switched_off")
    allow_fewer("letter", "kind", "letterkind", *KINDS)
    with op.batch_alter_table("letter") as batch:
        batch.drop_constraint(op.f("uq_letter_job_id_kind_cause_channel"), type_="unique")
        batch.create_unique_constraint(op.f("uq_letter_job_id_kind_cause"), ONE)
        batch.drop_constraint(op.f("ck_letter_channel"), type_="check")
        batch.drop_column("unsubscribe")
        batch.drop_column("channel")
    op.drop_table("telling_choice")
