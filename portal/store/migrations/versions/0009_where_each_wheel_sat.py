"""Where each wheel sat on its vehicle; nobody was asked for those of older jobs."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

CORNERS = (
    *("front_left", "front_right", "rear_left", "rear_right"),
    *("front", "rear", "left", "right", "spare", "unknown"),
)


def upgrade() -> None:
    listed = ", ".join(f"'{corner}'" for corner in CORNERS)
    with op.batch_alter_table("part") as batch:
        batch.add_column(sa.Column("corner", sa.String(24), nullable=True))
        batch.create_check_constraint(op.f("ck_part_corner"), f"corner IN ({listed})")


def downgrade() -> None:
    with op.batch_alter_table("part") as batch:
        batch.drop_constraint(op.f("ck_part_corner"), type_="check")
        batch.drop_column("corner")
