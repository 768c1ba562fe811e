"""Indexes, so that no page gets slower with the jobs that are closed."""

import sqlalchemy as sa
from alembic import op

revision = "0045"
down_revision = "0044"
branch_labels = None
depends_on = None

MOMENTS = ("handed_back_at", "promised_first_at", "ready_at")
WAIT = sa.text("verb = 'wait'")


def upgrade() -> None:
    for moment in MOMENTS:
        op.create_index(f"ix_job_{moment}", "job", [moment])
    op.create_index(
        "ix_move_wait", "move", ["job_id"], sqlite_where=WAIT, postgresql_where=WAIT
    )
    op.create_index("ix_ledger_entry_job_amount", "ledger_entry", ["job_id", "amount_minor"])
    op.drop_index("ix_ledger_entry_job_id", "ledger_entry")


def downgrade() -> None:
    op.create_index("ix_ledger_entry_job_id", "ledger_entry", ["job_id"])
    op.drop_index("ix_ledger_entry_job_amount", "ledger_entry")
    op.drop_index("ix_move_wait", "move")
    for moment in MOMENTS:
        op.drop_index(f"ix_job_{moment}", "job")
