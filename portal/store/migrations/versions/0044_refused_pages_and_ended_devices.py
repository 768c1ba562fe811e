"""Words of the office's log: who was refused a page, and who signed out on another device."""

from portal.store.migrations.verbs import add_verbs, remove_verbs

revision = "0044"
down_revision = "0043"
branch_labels = None
depends_on = None

WORDS = ("not_allowed", "end_device")


def upgrade() -> None:
    add_verbs("audit", *WORDS)


def downgrade() -> None:
    remove_verbs("audit", *WORDS)
