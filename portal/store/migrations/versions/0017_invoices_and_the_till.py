"""Invoices with their running numbers, whom they were made out to, and the closings of the till."""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations import only_added
from portal.store.migrations.verbs import add_verbs, remove_verbs
from portal.store.migrations.words import allow

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)
DOCUMENTS = (
    *("shop", "prices", "week", "stations", "place"),
    *("letters", "translations", "privacy", "terms"),
)
VERBS = ("put_invoicing", "correct_invoice", "close_till")
ADDED_ONLY = ("invoice", "invoice_job", "till_closing", "till_entry")
book = sa.table("book", sa.column("kind", sa.String))


def upgrade() -> None:
    _number_series()
    _invoice()
    _invoice_job()
    _buyers()
    _till()
    for table in ADDED_ONLY:
        only_added.guard(op.get_bind(), table)
    allow("book", "kind", "documentkind", (*DOCUMENTS, "invoicing"))
    add_verbs("audit", *VERBS)


def _number_series() -> None:
    op.create_table(
        "number_series",
        sa.Column("series", sa.String(length=16), nullable=False),
        sa.Column("last", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("series", name=op.f("pk_number_series")),
    )


def _invoice() -> None:
    kind = sa.Enum(
        *("invoice", "receipt", "deposit", "credit_note"),
        name="invoicekind",
        native_enum=False,
        create_constraint=True,
        length=24,
    )
    op.create_table(
        "invoice",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(length=24), nullable=False),
        sa.Column("series", sa.String(length=16), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("kind", kind, nullable=False),
        sa.Column("issued_at", MOMENT, nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        *(
            sa.Column(name, sa.Integer(), nullable=False)
            for name in ("net_minor", "tax_minor", "charged_minor")
        ),
        sa.Column("body", sa.JSON(), nullable=False),
        *(
            sa.Column(name, sa.Integer(), nullable=True)
            for name in ("cancels_id", "entry_id", "person_id")
        ),
        sa.CheckConstraint(
            "charged_minor >= 0", name=op.f("ck_invoice_charged_minor_not_negative")
        ),
        _refers("invoice", "cancels_id", "invoice"),
        _refers("invoice", "entry_id", "ledger_entry"),
        _refers("invoice", "person_id", "person"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_invoice")),
        sa.UniqueConstraint("entry_id", name=op.f("uq_invoice_entry_id")),
        sa.UniqueConstraint("number", name=op.f("uq_invoice_number")),
        sa.UniqueConstraint("series", "count", name=op.f("uq_invoice_series_count")),
    )
    for column in ("cancels_id", "issued_at"):
        op.create_index(op.f(f"ix_invoice_{column}"), "invoice", [column])


def _invoice_job() -> None:
    op.create_table(
        "invoice_job",
        *(
            sa.Column(name, sa.Integer(), nullable=False)
            for name in ("invoice_id", "job_id", "amount_minor")
        ),
        _refers("invoice_job", "invoice_id", "invoice"),
        _refers("invoice_job", "job_id", "job"),
        sa.PrimaryKeyConstraint("invoice_id", "job_id", name=op.f("pk_invoice_job")),
    )
    op.create_index(op.f("ix_invoice_job_job_id"), "invoice_job", ["job_id"])


def _buyers() -> None:
    op.create_table(
        "invoice_buyer",
        sa.Column("invoice_id", sa.Integer(), nullable=False),
        sa.Column("party", sa.JSON(), nullable=False),
        sa.Column("has_address", sa.Boolean(), nullable=False),
        sa.Column("keep_until", sa.Date(), nullable=False),
        _refers("invoice_buyer", "invoice_id", "invoice"),
        sa.PrimaryKeyConstraint("invoice_id", name=op.f("pk_invoice_buyer")),
    )
    op.create_index(op.f("ix_invoice_buyer_keep_until"), "invoice_buyer", ["keep_until"])
    op.create_table(
        "billing",
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("party", sa.JSON(), nullable=False),
        _refers("billing", "customer_id", "customer"),
        sa.PrimaryKeyConstraint("customer_id", name=op.f("pk_billing")),
    )


def _till() -> None:
    op.create_table(
        "till_closing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("since", MOMENT, nullable=False),
        sa.Column("closed_at", MOMENT, nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        *(
            sa.Column(f"{name}_minor", sa.Integer(), nullable=False)
            for name in ("opening", "taken", "counted", "banked")
        ),
        sa.Column("reason", sa.String(length=300), nullable=False),
        sa.Column("takings", sa.JSON(), nullable=False),
        _refers("till_closing", "person_id", "person"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_till_closing")),
        sa.UniqueConstraint("number", name=op.f("uq_till_closing_number")),
    )
    op.create_index(op.f("ix_till_closing_day"), "till_closing", ["day"])
    op.create_table(
        "till_entry",
        sa.Column("entry_id", sa.Integer(), nullable=False),
        sa.Column("closing_id", sa.Integer(), nullable=False),
        _refers("till_entry", "entry_id", "ledger_entry"),
        _refers("till_entry", "closing_id", "till_closing"),
        sa.PrimaryKeyConstraint("entry_id", name=op.f("pk_till_entry")),
    )
    op.create_index(op.f("ix_till_entry_closing_id"), "till_entry", ["closing_id"])


def _refers(table: str, column: str, to: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        [column], [f"{to}.id"], name=op.f(f"fk_{table}_{column}_{to}")
    )


def downgrade() -> None:
    remove_verbs("audit", *VERBS)
    op.execute(sa.delete(book).where(book.c.kind == "invoicing"))
    allow("book", "kind", "documentkind", DOCUMENTS)
    for table in ADDED_ONLY:
        only_added.release(op.get_bind(), table)
    for table in (
        *("till_entry", "till_closing", "billing", "invoice_buyer"),
        *("invoice_job", "invoice", "number_series"),
    ):
        op.drop_table(table)
