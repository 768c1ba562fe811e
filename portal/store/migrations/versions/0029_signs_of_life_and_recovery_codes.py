"""The mail worker's sign of life, codes for a lost authenticator, and words for what was refused."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.verbs import add_verbs, remove_verbs
from portal.store.migrations.words import allow_fewer, allow_more

revision = "0029"
down_revision = "0026"
branch_labels = None
depends_on = None

OFFICE = (
    *("wrong_password", "wrong_code", "wrong_pin", "recovery_codes", "recovery_code_used"),
    *("test_letter", "erase_person", "export_person"),
)
letter = sa.table("letter", sa.column("kind"))


def upgrade() -> None:
    op.create_table(
        "heartbeat",
        sa.Column("name", sa.String(length=40), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("trouble", sa.String(length=200), nullable=False),
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


def downgrade() -> None:
    op.execute(sa.delete(letter).where(letter.c.kind == "test"))
    allow_fewer("letter", "kind", "letterkind", "test")
    remove_verbs("audit", *OFFICE)
    op.drop_index(op.f("ix_recovery_code_person_id"), table_name="recovery_code")
    op.drop_table("recovery_code")
    op.drop_table("heartbeat")
