"""What a customer has taken off before coming, and what is left to the works."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.verbs import add_verbs, remove_verbs

revision = "0037"
down_revision = "0034"
branch_labels = None
depends_on = None

ITEMS = (
    *("tyre", "weights", "valve", "sensor", "centre_cap", "lug_covers"),
    *("spacers", "spigot_rings", "badges", "seals", "bearings"),
)


def upgrade() -> None:
    op.create_table(
        "taken_off",
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("set_key", sa.String(length=8), nullable=False),
        sa.Column(
            "item",
            sa.Enum(*ITEMS, name="item", native_enum=False, create_constraint=True, length=24),
            nullable=False,
        ),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_taken_off_job_id_job")),
        sa.PrimaryKeyConstraint("job_id", "set_key", "item", name=op.f("pk_taken_off")),
    )
    add_verbs("move", "hand_over")


def downgrade() -> None:
    remove_verbs("move", "hand_over")
    op.drop_table("taken_off")
