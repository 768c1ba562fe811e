"""Of an erased customer, what staff typed beside events, checks and sums can be emptied."""

from alembic import op

from portal.store.migrations import only_added

revision = "0031"
down_revision = "0028"
branch_labels = None
depends_on = None

TABLES = ("move", "ledger_entry", "part_check")


def upgrade() -> None:
    for table in TABLES:
        only_added.release(op.get_bind(), table)
        only_added.guard(op.get_bind(), table)


def downgrade() -> None:
    """Leave the triggers: they keep the rows of every earlier form as well."""
