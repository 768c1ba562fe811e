"""Questions asked before booking, and what is remembered of a draft that ended."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "ended_draft",
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("booked", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_ended_draft")),
    )
    op.create_index(op.f("ix_ended_draft_ended_at"), "ended_draft", ["ended_at"])
    op.create_table(
        "question",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("draft_id", sa.Integer(), nullable=True),
        sa.Column("job_id", sa.Integer(), nullable=True),
        sa.Column("photo_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("email", sa.String(length=254), nullable=False),
        sa.Column("phone", sa.String(length=24), nullable=False),
        sa.Column("locale", sa.String(length=8), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("told", sa.JSON(), nullable=False),
        sa.Column("draft_version", sa.Integer(), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("by_letter", sa.Boolean(), nullable=False),
        sa.Column("answered_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["draft_id"], ["draft.id"], name=op.f("fk_question_draft_id_draft")
        ),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_question_job_id_job")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_question_person_id_person")
        ),
        sa.ForeignKeyConstraint(
            ["photo_id"], ["photo.id"], name=op.f("fk_question_photo_id_photo")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_question")),
    )
    for column in ("answered_at", "draft_id", "job_id"):
        op.create_index(op.f(f"ix_question_{column}"), "question", [column])


def downgrade() -> None:
    op.drop_table("question")
    op.drop_table("ended_draft")
