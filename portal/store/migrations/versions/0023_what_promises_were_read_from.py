"""What each promise was read from, so that margins are learned by kind and by how far ahead."""

import sqlalchemy as sa
from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None

KINDS = ("outside_strip", "trade_batch", "few_parts", "set")
HORIZONS = ("near", "soon", "far", "furthest")


def _word(name: str, values: tuple[str, ...]) -> sa.Enum:
    return sa.Enum(*values, name=name, native_enum=False, create_constraint=True, length=24)


def upgrade() -> None:
    op.create_table(
        "promise",
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("foreseen_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("kind", _word("orderkind", KINDS), nullable=False),
        sa.Column("horizon", _word("horizon", HORIZONS), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_promise_job_id_job")),
        sa.PrimaryKeyConstraint("job_id", name=op.f("pk_promise")),
    )


def downgrade() -> None:
    op.drop_table("promise")
