"""In which units a customer reads; customers from before chose none."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("customer") as batch:
        batch.add_column(sa.Column("units", sa.String(24), nullable=True))
        batch.create_check_constraint(op.f("ck_customer_unitsystem"), "units IN ('metric', 'inch')")


def downgrade() -> None:
    with op.batch_alter_table("customer") as batch:
        batch.drop_constraint(op.f("ck_customer_unitsystem"), type_="check")
        batch.drop_column("units")
