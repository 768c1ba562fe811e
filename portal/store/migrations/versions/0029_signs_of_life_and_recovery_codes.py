"""The mail worker's sign of life, codes for a lost authenticator, words for what was refused.

Why a letter failed is kept as a message, so that the office reads it in its language.
"""

import json
from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.verbs import add_verbs, remove_verbs
from portal.store.migrations.words import allow_fewer, allow_more

revision = "0029"
down_revision = "0027"
branch_labels = None
depends_on = None

OFFICE = (
    *("wrong_password", "wrong_code", "wrong_pin", "recovery_codes", "recovery_code_used"),
    *("test_letter", "erase_person", "export_person"),
)
LONGEST_ERROR = 200
letter = sa.table(
    "letter", sa.column("id", sa.Integer), sa.column("kind"), sa.column("last_error", sa.Text)
)


def upgrade() -> None:
    op.create_table(
        "heartbeat",
        sa.Column("name", sa.String(length=40), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("trouble", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_heartbeat")),
    )
    op.create_table(
        "recovery_code",
        sa.Column("code_hash", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_recovery_code_person_id_person")
        ),
        sa.PrimaryKeyConstraint("code_hash", "person_id", name=op.f("pk_recovery_code")),
    )
    op.create_index(op.f("ix_recovery_code_person_id"), "recovery_code", ["person_id"])
    add_verbs("audit", *OFFICE)
    allow_more("letter", "kind", "letterkind", "test")
    with op.batch_alter_table("letter") as batch:
        batch.alter_column(
            "last_error", existing_type=sa.String(200), type_=sa.Text(), nullable=True
        )
    op.execute(sa.update(letter).where(letter.c.last_error == "").values(last_error=None))
    _rewrite(lambda text: json.dumps({"msgid": "{text}", "values": {"text": text}}))


def downgrade() -> None:
    _rewrite(lambda stored: _english(json.loads(stored))[:LONGEST_ERROR])
    op.execute(sa.update(letter).where(letter.c.last_error.is_(None)).values(last_error=""))
    with op.batch_alter_table("letter") as batch:
        batch.alter_column(
            "last_error", existing_type=sa.Text(), type_=sa.String(200), nullable=False
        )
    op.execute(sa.delete(letter).where(letter.c.kind == "test"))
    allow_fewer("letter", "kind", "letterkind", "test")
    remove_verbs("audit", *OFFICE)
    op.drop_index(op.f("ix_recovery_code_person_id"), table_name="recovery_code")
    op.drop_table("recovery_code")
    op.drop_table("heartbeat")


def _rewrite(change: Callable[[str], str]) -> None:
    """Change each error that is kept."""
    bind = op.get_bind()
    query = sa.select(letter.c.id, letter.c.last_error).where(letter.c.last_error.is_not(None))
    for row_id, kept in bind.execute(query).all():
        changed = sa.update(letter).where(letter.c.id == row_id)
        bind.execute(changed.values(last_error=change(kept)))


def _english(stored: Any) -> str:
    """Return a message in English, its values plainly."""
    if not isinstance(stored, dict):
        return str(stored)
    values = {name: _english(value) for name, value in stored["values"].items()}
    template: str = stored["msgid"]
    return template.format(**values) if values else template
