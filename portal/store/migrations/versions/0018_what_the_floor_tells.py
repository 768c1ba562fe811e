"""Notes of the staff, places on the shelf, batches of powder, and powder that is on its way."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.verbs import add_verbs, remove_verbs

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

STAGES = (
    *("expected", "prep", "strip", "blast", "coat"),
    *("cure", "inspect", "refit", "done", "gone"),
)
EVENTS = ("shelf", "note", "note_off")
OFFICE = ("order_powder", "order_off")


def refers(table: str, column: str, to: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [to], name=f"fk_{table}_{column}_{to.split('.')[0]}")


def upgrade() -> None:
    stage = sa.Enum(
        *STAGES, name="partstage", native_enum=False, create_constraint=True, length=24
    )
    op.create_table(
        "job_note",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("stage", stage, nullable=True),
        sa.Column("note", sa.String(length=400), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        refers("job_note", "job_id", "job.id"),
        refers("job_note", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("id", name="pk_job_note"),
    )
    op.create_index("ix_job_note_job_id", "job_note", ["job_id"])
    op.create_table(
        "oven_load_batch",
        sa.Column("load_id", sa.Integer(), nullable=False),
        sa.Column("powder_code", sa.String(length=16), nullable=False),
        sa.Column("batch", sa.String(length=40), nullable=False),
        refers("oven_load_batch", "load_id", "oven_load.id"),
        sa.PrimaryKeyConstraint("load_id", "powder_code", name="pk_oven_load_batch"),
    )
    op.create_index("ix_oven_load_batch_batch", "oven_load_batch", ["batch"])
    op.create_index("ix_oven_load_batch_powder_code", "oven_load_batch", ["powder_code"])
    op.create_table(
        "powder_order",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("powder_code", sa.String(length=16), nullable=False),
        sa.Column("grams", sa.Integer(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.Column("ordered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("person_id", sa.Integer(), nullable=True),
        refers("powder_order", "powder_code", "powder.code"),
        refers("powder_order", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("id", name="pk_powder_order"),
    )
    op.create_index("ix_powder_order_powder_code", "powder_order", ["powder_code"])
    with op.batch_alter_table("job") as batch:
        batch.add_column(sa.Column("shelf", sa.String(8), server_default="", nullable=False))
    with op.batch_alter_table("job") as batch:
        batch.alter_column("shelf", server_default=None)
    add_verbs("move", *EVENTS)
    add_verbs("audit", *OFFICE)


def downgrade() -> None:
    remove_verbs("audit", *OFFICE)
    remove_verbs("move", *EVENTS)
    with op.batch_alter_table("job") as batch:
        batch.drop_column("shelf")
    for table in ("powder_order", "oven_load_batch", "job_note"):
        op.drop_table(table)
