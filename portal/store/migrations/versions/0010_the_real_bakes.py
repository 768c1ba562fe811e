"""What a stay in the oven was for, how long it really was, and who was taken out before its end.

Of a load from before nothing tells whether it was a part cure: it is called a cure. A pre-bake had
no load.
"""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

load = sa.table("oven_load", sa.column("id"), sa.column("kind"))
in_load = sa.table("oven_load_part", sa.column("load_id"), sa.column("out_at"))
KIND = sa.String(24)


def upgrade() -> None:
    with op.batch_alter_table("oven_load") as batch:
        batch.add_column(sa.Column("kind", KIND, nullable=False, server_default=sa.text("'cure'")))
        batch.add_column(sa.Column("baked_min", sa.Integer(), nullable=True))
    with op.batch_alter_table("oven_load") as batch:
        batch.alter_column("kind", existing_type=KIND, server_default=None)
        batch.create_check_constraint(
            op.f("ck_oven_load_bake"), "kind IN ('cure', 'gel', 'pre_bake')"
        )
    with op.batch_alter_table("oven_load_part") as batch:
        batch.add_column(sa.Column("out_at", sa.DateTime(timezone=True), nullable=True))


def downgrade() -> None:
    # the older form would move these parts on when the load is closed
    op.execute(sa.delete(in_load).where(in_load.c.out_at.is_not(None)))
    pre_bakes = sa.select(load.c.id).where(load.c.kind == "pre_bake").scalar_subquery()
    op.execute(sa.delete(in_load).where(in_load.c.load_id.in_(pre_bakes)))
    op.execute(sa.delete(load).where(load.c.kind == "pre_bake"))
    with op.batch_alter_table("oven_load_part") as batch:
        batch.drop_column("out_at")
    with op.batch_alter_table("oven_load") as batch:
        batch.drop_constraint(op.f("ck_oven_load_bake"), type_="check")
        batch.drop_column("baked_min")
        batch.drop_column("kind")
