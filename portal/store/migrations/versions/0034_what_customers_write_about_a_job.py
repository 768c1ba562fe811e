"""What a customer and the works write to each other behind the link of a job."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.verbs import add_verbs, remove_verbs
from portal.store.migrations.words import allow_fewer, allow_more

revision = "0034"
down_revision = "0032"
branch_labels = None
depends_on = None

VERBS = ("question", "case", "answer", "case_closed")
letter = sa.table("letter", sa.column("kind"))


def upgrade() -> None:
    op.create_table(
        "thread",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "question",
                "case",
                name="threadkind",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("waits_since", sa.DateTime(timezone=True), nullable=True),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_thread_job_id_job")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_thread")),
        sa.UniqueConstraint("job_id", "kind", name=op.f("uq_thread_job_id_kind")),
    )
    op.create_index(op.f("ix_thread_waits_since"), "thread", ["waits_since"])
    op.create_table(
        "thread_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("thread_id", sa.Integer(), nullable=False),
        sa.Column("ours", sa.Boolean(), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("photo_id", sa.Integer(), nullable=True),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_thread_entry_person_id_person")
        ),
        sa.ForeignKeyConstraint(
            ["photo_id"], ["photo.id"], name=op.f("fk_thread_entry_photo_id_photo")
        ),
        sa.ForeignKeyConstraint(
            ["thread_id"], ["thread.id"], name=op.f("fk_thread_entry_thread_id_thread")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_thread_entry")),
    )
    op.create_index(op.f("ix_thread_entry_thread_id"), "thread_entry", ["thread_id"])
    allow_more("letter", "kind", "letterkind", "answered")
    add_verbs("move", *VERBS)


def downgrade() -> None:
    remove_verbs("move", *VERBS)
    op.execute(sa.delete(letter).where(letter.c.kind == "answered"))
    allow_fewer("letter", "kind", "letterkind", "answered")
    op.drop_table("thread_entry")
    op.drop_table("thread")
