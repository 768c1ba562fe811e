"""The fingerprint of the secret that all machines of a database must share."""

import sqlalchemy as sa
from alembic import op

revision = "0041"
down_revision = "0038"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "secret_fingerprint",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("fingerprint", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_secret_fingerprint")),
    )


def downgrade() -> None:
    op.drop_table("secret_fingerprint")
