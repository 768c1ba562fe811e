"""Who fetched the parts, and by when they are needed, belong to a job; a lost bag has a question."""

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0023"
branch_labels = None
depends_on = None

NAME = sa.String(120)
QUESTION = "fk_hardware_bag_finding_id_finding"
job = sa.table("job", *(sa.column(name) for name in ("id", "customer_id", "state", "collector")))
customer = sa.table("customer", *(sa.column(name) for name in ("id", "collector")))


def upgrade() -> None:
    with op.batch_alter_table("job") as batch:
        batch.add_column(sa.Column("collector", NAME, nullable=False, server_default=sa.text("''")))
        batch.add_column(sa.Column("needed_by", sa.Date(), nullable=True))
    own = sa.select(customer.c.collector).where(customer.c.id == job.c.customer_id)
    # whose orders were several had one name for all of them: it was the last one's
    last = sa.select(sa.func.max(job.c.id)).where(job.c.state == "handed_back")
    op.execute(
        sa.update(job)
        .where(job.c.id.in_(last.group_by(job.c.customer_id)))
        .values(collector=own.scalar_subquery())
    )
    with op.batch_alter_table("job") as batch:
        batch.alter_column("collector", existing_type=NAME, server_default=None)
    with op.batch_alter_table("customer") as batch:
        batch.drop_column("collector")
    with op.batch_alter_table("hardware_bag") as batch:
        batch.add_column(sa.Column("finding_id", sa.Integer(), nullable=True))
        batch.create_foreign_key(QUESTION, "finding", ["finding_id"], ["id"])


def downgrade() -> None:
    with op.batch_alter_table("hardware_bag") as batch:
        batch.drop_constraint(QUESTION, type_="foreignkey")
        batch.drop_column("finding_id")
    with op.batch_alter_table("customer") as batch:
        batch.add_column(sa.Column("collector", NAME, nullable=False, server_default=sa.text("''")))
    name = sa.select(sa.func.max(job.c.collector)).where(job.c.customer_id == customer.c.id)
    op.execute(
        sa.update(customer).values(collector=sa.func.coalesce(name.scalar_subquery(), ""))
    )
    with op.batch_alter_table("customer") as batch:
        batch.alter_column("collector", existing_type=NAME, server_default=None)
    with op.batch_alter_table("job") as batch:
        batch.drop_column("needed_by")
        batch.drop_column("collector")
