"""What was tested on a part before it went on; what a test finds is a finding of its own kind."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations import only_added
from portal.store.migrations.words import allow

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

TABLE = "part_check"
KINDS = (
    *("lead", "closed", "vent", "tank", "size", "metal", "layers", "permission", "bend"),
    "run_out",
    *("bores", "repair", "thickness", "cracks", "rust", "plating", "weld", "sample"),
)
FINDINGS = (
    *("missing", "lost", "damage", "layers", "fitted"),
    *("metal", "size", "closed", "other"),
)
REFERS = {"job_id": "job", "part_id": "part", "finding_id": "finding", "person_id": "person"}
finding = sa.table("finding", sa.column("kind"))


def upgrade() -> None:
    kind = sa.Enum(
        *KINDS, name="checkkind", native_enum=False, create_constraint=True, length=24
    )
    op.create_table(
        TABLE,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("kind", kind, nullable=False),
        sa.Column("result", sa.String(length=24), nullable=False),
        sa.Column("note", sa.String(length=300), nullable=False),
        sa.Column("finding_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        *(
            sa.ForeignKeyConstraint(
                [column], [f"{table}.id"], name=op.f(f"fk_{TABLE}_{column}_{table}")
            )
            for column, table in REFERS.items()
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{TABLE}")),
    )
    op.create_index(op.f(f"ix_{TABLE}_job_id"), TABLE, ["job_id"])
    op.create_index(f"ix_{TABLE}_part_kind", TABLE, ["part_id", "kind"])
    only_added.guard(op.get_bind(), TABLE)
    allow("finding", "kind", "differencekind", (*FINDINGS[:-1], "check", FINDINGS[-1]))


def downgrade() -> None:
    op.execute(sa.update(finding).where(finding.c.kind == "check").values(kind="other"))
    allow("finding", "kind", "differencekind", FINDINGS)
    only_added.release(op.get_bind(), TABLE)
    op.drop_table(TABLE)
