"""Trade customers: firms with their prices, links, lists of orders, invoices of a month."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations.verbs import add_verbs, remove_verbs
from portal.store.migrations.words import allow_fewer, allow_more

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

OFFICE = (
    *("add_firm", "change_firm", "close_firm", "put_firm_prices"),
    *("send_firm_link", "end_firm_links", "issue_month", "cancel_month"),
    *("pay_month", "unpay_month", "remind_firm", "over_limit"),
)
LETTERS = ("firm_link", "firm_invoice", "firm_reminder")
letter = sa.table("letter", sa.column("kind"))


def upgrade() -> None:
    op.create_table(
        "firm",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=20), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("contact", sa.String(length=120), nullable=False),
        sa.Column("email", sa.String(length=254), nullable=False),
        sa.Column("phone", sa.String(length=24), nullable=False),
        sa.Column("locale", sa.String(length=8), nullable=False),
        sa.Column("party", sa.JSON(), nullable=False),
        sa.Column(
            "bringing",
            sa.Enum(
                "bare",
                "complete",
                "whole_car",
                name="bringing",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=True,
        ),
        sa.Column("fetched", sa.Boolean(), nullable=False),
        sa.Column("terms_days", sa.Integer(), nullable=False),
        sa.Column("limit_minor", sa.Integer(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint(
            "limit_minor IS NULL OR limit_minor >= 0", name=op.f("ck_firm_limit_not_negative")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_firm")),
    )
    op.create_index(op.f("ix_firm_email"), "firm", ["email"])
    op.create_index(op.f("ix_firm_name"), "firm", ["name"])

    op.create_table(
        "firm_link",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("firm_id", sa.Integer(), nullable=False),
        sa.Column("key_hash", sa.String(length=64), nullable=False),
        sa.Column("email", sa.String(length=254), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["firm_id"], ["firm.id"], name=op.f("fk_firm_link_firm_id_firm")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_firm_link")),
        sa.UniqueConstraint("key_hash", name=op.f("uq_firm_link_key_hash")),
    )
    op.create_index(op.f("ix_firm_link_expires_at"), "firm_link", ["expires_at"])
    op.create_index(op.f("ix_firm_link_firm_id"), "firm_link", ["firm_id"])

    op.create_table(
        "firm_list",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("firm_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("rows", sa.JSON(), nullable=False),
        sa.Column("slot", sa.DateTime(timezone=True), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("booked_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["firm_id"], ["firm.id"], name=op.f("fk_firm_list_firm_id_firm")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_firm_list")),
    )
    op.create_index(op.f("ix_firm_list_firm_id"), "firm_list", ["firm_id"])
    op.create_index(op.f("ix_firm_list_updated_at"), "firm_list", ["updated_at"])

    op.create_table(
        "firm_price",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("firm_id", sa.Integer(), nullable=False),
        sa.Column("starts_on", sa.Date(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["firm_id"], ["firm.id"], name=op.f("fk_firm_price_firm_id_firm")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_firm_price_person_id_person")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_firm_price")),
    )
    op.create_index("ix_firm_price_firm_from", "firm_price", ["firm_id", "starts_on"])

    op.create_table(
        "firm_session",
        sa.Column("key_hash", sa.String(length=64), nullable=False),
        sa.Column("firm_id", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["firm_id"], ["firm.id"], name=op.f("fk_firm_session_firm_id_firm")
        ),
        sa.PrimaryKeyConstraint("key_hash", name=op.f("pk_firm_session")),
    )
    op.create_index(op.f("ix_firm_session_expires_at"), "firm_session", ["expires_at"])
    op.create_index(op.f("ix_firm_session_firm_id"), "firm_session", ["firm_id"])

    op.create_table(
        "firm_invoice",
        sa.Column("invoice_id", sa.Integer(), nullable=False),
        sa.Column("firm_id", sa.Integer(), nullable=False),
        sa.Column("first_day", sa.Date(), nullable=False),
        sa.Column("last_day", sa.Date(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.ForeignKeyConstraint(
            ["firm_id"], ["firm.id"], name=op.f("fk_firm_invoice_firm_id_firm")
        ),
        sa.ForeignKeyConstraint(
            ["invoice_id"], ["invoice.id"], name=op.f("fk_firm_invoice_invoice_id_invoice")
        ),
        sa.PrimaryKeyConstraint("invoice_id", name=op.f("pk_firm_invoice")),
    )
    op.create_index(op.f("ix_firm_invoice_due_on"), "firm_invoice", ["due_on"])
    op.create_index(op.f("ix_firm_invoice_firm_id"), "firm_invoice", ["firm_id"])

    op.create_table(
        "firm_payment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("invoice_id", sa.Integer(), nullable=False),
        sa.Column(
            "how",
            sa.Enum(
                "card",
                "cash",
                "transfer",
                name="paymentmethod",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column("amount_minor", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["invoice_id"], ["invoice.id"], name=op.f("fk_firm_payment_invoice_id_invoice")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_firm_payment_person_id_person")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_firm_payment")),
    )
    op.create_index(op.f("ix_firm_payment_invoice_id"), "firm_payment", ["invoice_id"])

    op.create_table(
        "firm_payment_entry",
        sa.Column("entry_id", sa.Integer(), nullable=False),
        sa.Column("payment_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["entry_id"],
            ["ledger_entry.id"],
            name=op.f("fk_firm_payment_entry_entry_id_ledger_entry"),
        ),
        sa.ForeignKeyConstraint(
            ["payment_id"],
            ["firm_payment.id"],
            name=op.f("fk_firm_payment_entry_payment_id_firm_payment"),
        ),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_firm_payment_entry")),
    )
    op.create_index(op.f("ix_firm_payment_entry_payment_id"), "firm_payment_entry", ["payment_id"])

    with op.batch_alter_table("job") as batch_op:
        batch_op.add_column(sa.Column("firm_id", sa.Integer(), nullable=True))
        batch_op.create_index(batch_op.f("ix_job_firm_id"), ["firm_id"], unique=False)
        batch_op.create_foreign_key(batch_op.f("fk_job_firm_id_firm"), "firm", ["firm_id"], ["id"])

    allow_more("letter", "kind", "letterkind", *LETTERS)
    add_verbs("move", "over_limit")
    add_verbs("audit", *OFFICE)


def downgrade() -> None:
    remove_verbs("audit", *OFFICE)
    remove_verbs("move", "over_limit")
    op.execute(sa.delete(letter).where(letter.c.kind.in_(LETTERS)))
    allow_fewer("letter", "kind", "letterkind", *LETTERS)
    with op.batch_alter_table("job") as batch_op:
        batch_op.drop_constraint(batch_op.f("fk_job_firm_id_firm"), type_="foreignkey")
        batch_op.drop_index(batch_op.f("ix_job_firm_id"))
        batch_op.drop_column("firm_id")
    for table in (
        *("firm_payment_entry", "firm_payment", "firm_invoice"),
        *("firm_session", "firm_price", "firm_list", "firm_link", "firm"),
    ):
        op.drop_table(table)
