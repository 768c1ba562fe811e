"""The verbs of both logs are words that the database knows.

A verb that nobody knows is called `other`, with its word in front of the note.
"""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations import only_added
from portal.store.migrations.verbs import rename_unknown

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

EVENTS = (
    *("book", "receive", "wait", "resume", "start", "make_ready", "take_back", "hand_back"),
    *("miss", "call_off", "turn_away", "move", "rework", "undo", "arrived", "reopened"),
    *("tag", "untag", "bag", "bag_off", "stamp", "corner", "hang", "check", "finding"),
    *("settle", "colour", "new_date", "called", "pay", "run_in", "run_out", "run_sent"),
    *("run_missing", "baked_despite", "baked_otherwise", "heat_leave", "inspect"),
    *("written_off", "found", "other"),
)
OFFICE = (
    *("sign_in", "unlock", "end_devices", "new_password", "new_pin", "pin_off", "give_password"),
    *("second_factor_on", "second_factor_off", "add_person", "renew_person", "change_person"),
    *("answer_question", "close_question", "erase_question", "send_again", "send_kept_scans"),
    *("waived_check", "reopened_check", "put_shop", "put_prices", "put_week", "put_stations"),
    *("put_place", "put_letters", "put_translations", "put_privacy", "put_terms"),
    *("import_shop", "export", "put_powder", "delivery", "stocktake", "correction", "load"),
    "other",
)
# table, the name of its check, its words, the column's length before
LOGS = (("move", "eventverb", EVENTS, 24), ("audit", "auditverb", OFFICE, 32))


def upgrade() -> None:
    for table, check, words, length in LOGS:
        rename_unknown(table, words)
        listed = ", ".join(f"'{word}'" for word in words)
        only_added.release(op.get_bind(), table)
        with op.batch_alter_table(table) as batch:
            batch.alter_column("verb", existing_type=sa.String(length), type_=sa.String(24))
            batch.create_check_constraint(op.f(f"ck_{table}_{check}"), f"verb IN ({listed})")
        only_added.guard(op.get_bind(), table)


def downgrade() -> None:
    for table, check, _, length in LOGS:
        only_added.release(op.get_bind(), table)
        with op.batch_alter_table(table) as batch:
            batch.drop_constraint(op.f(f"ck_{table}_{check}"), type_="check")
            batch.alter_column("verb", existing_type=sa.String(24), type_=sa.String(length))
        only_added.guard(op.get_bind(), table)
