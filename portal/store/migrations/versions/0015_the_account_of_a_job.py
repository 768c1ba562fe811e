"""The account of a job: every sum that was charged, taken or given back, as an entry.

A payment keeps its number. The price of an older job and the findings that were agreed to become
entries of their own; an order that was cancelled owes nothing.
"""

import sqlalchemy as sa
from alembic import op

from portal.store.migrations import only_added
from portal.store.migrations.verbs import add_verbs, remove_verbs

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

TABLE = "ledger_entry"
KINDS = ("price", "change", "discount", "goodwill", "end", "payment", "refund")
VERBS = ("refund", "discount", "goodwill", "reverse")
WAYS = ("card", "cash", "transfer")
OFF = ("called_off", "turned_away")
REFERS = {"job_id": "job", "finding_id": "finding", "reverses_id": TABLE, "person_id": "person"}

MOMENT = sa.DateTime(timezone=True)
entry = sa.table(
    TABLE,
    sa.column("id", sa.Integer),
    sa.column("job_id", sa.Integer),
    sa.column("kind", sa.String),
    sa.column("amount_minor", sa.Integer),
    sa.column("how", sa.String),
    sa.column("reason", sa.String),
    sa.column("finding_id", sa.Integer),
    sa.column("reverses_id", sa.Integer),
    sa.column("at", MOMENT),
    sa.column("person_id", sa.Integer),
)
counter = entry.alias("counter")
payment = sa.table(
    "payment",
    *(sa.column(name, sa.Integer) for name in ("id", "job_id", "amount_minor", "person_id")),
    sa.column("how", sa.String),
    sa.column("at", MOMENT),
)
job = sa.table(
    "job",
    *(sa.column(name, sa.Integer) for name in ("id", "total_minor", "paid_minor")),
    sa.column("state", sa.String),
    sa.column("booked_at", MOMENT),
)
finding = sa.table(
    "finding",
    *(sa.column(name, sa.Integer) for name in ("id", "job_id", "amount_minor")),
    sa.column("answer", sa.String),
    sa.column("answered_at", MOMENT),
)
move = sa.table(
    "move", sa.column("job_id", sa.Integer), sa.column("verb", sa.String), sa.column("at", MOMENT)
)
AGREED = (finding.c.answer == "accepted", finding.c.amount_minor != 0)


def upgrade() -> None:
    _make_table()
    _carry_over()
    op.drop_table("payment")
    with op.batch_alter_table("job") as batch:
        batch.drop_constraint(op.f("ck_job_paid_minor_not_negative"), type_="check")
        batch.drop_column("paid_minor")
    only_added.guard(op.get_bind(), TABLE)
    add_verbs("move", *VERBS)


def _make_table() -> None:
    kind = sa.Enum(
        *KINDS, name="entrykind", native_enum=False, create_constraint=True, length=24
    )
    way = sa.Enum(
        *WAYS, name="paymentmethod", native_enum=False, create_constraint=True, length=24
    )
    op.create_table(
        TABLE,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("kind", kind, nullable=False),
        sa.Column("amount_minor", sa.Integer(), nullable=False),
        sa.Column("how", way, nullable=True),
        sa.Column("reason", sa.String(length=300), nullable=False),
        sa.Column("finding_id", sa.Integer(), nullable=True),
        sa.Column("reverses_id", sa.Integer(), nullable=True),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.CheckConstraint("amount_minor <> 0", name=op.f(f"ck_{TABLE}_amount_minor_not_zero")),
        sa.CheckConstraint(
            "(kind IN ('payment', 'refund')) = (how IS NOT NULL)",
            name=op.f(f"ck_{TABLE}_money_has_its_way"),
        ),
        *(
            sa.ForeignKeyConstraint(
                [column], [f"{table}.id"], name=op.f(f"fk_{TABLE}_{column}_{table}")
            )
            for column, table in REFERS.items()
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{TABLE}")),
        sa.UniqueConstraint("reverses_id", name=op.f(f"uq_{TABLE}_reverses_id")),
    )
    for column in ("job_id", "at"):
        op.create_index(op.f(f"ix_{TABLE}_{column}"), TABLE, [column])


def _carry_over() -> None:
    """Payments come first, so that they keep their numbers; the rest gets those after them."""
    none = sa.literal("")
    columns = ["id", "job_id", "kind", "amount_minor", "how", "reason", "at", "person_id"]
    paid = sa.select(
        payment.c.id,
        payment.c.job_id,
        sa.literal("payment"),
        -payment.c.amount_minor,
        payment.c.how,
        none,
        payment.c.at,
        payment.c.person_id,
    ).where(payment.c.amount_minor != 0)
    op.execute(sa.insert(entry).from_select(columns, paid))
    if op.get_bind().dialect.name == "postgresql":
        # the next number comes after the last one that was given
        op.execute(
            f"SELECT setval(pg_get_serial_sequence('{TABLE}', 'id'), max(id)) "
            f"FROM {TABLE} HAVING max(id) IS NOT NULL"
        )
    later = (
        sa.select(sa.func.coalesce(sa.func.sum(finding.c.amount_minor), 0))
        .where(finding.c.job_id == job.c.id, *AGREED)
        .scalar_subquery()
    )
    ended = (
        sa.select(sa.func.max(move.c.at))
        .where(move.c.job_id == job.c.id, move.c.verb.in_(("call_off", "turn_away")))
        .scalar_subquery()
    )
    first = job.c.total_minor - later
    for rows in (
        sa.select(job.c.id, sa.literal("price"), first, none, sa.null(), job.c.booked_at).where(
            first != 0
        ),
        sa.select(
            finding.c.job_id,
            sa.literal("change"),
            finding.c.amount_minor,
            none,
            finding.c.id,
            sa.func.coalesce(finding.c.answered_at, job.c.booked_at),
        )
        .join_from(finding, job, job.c.id == finding.c.job_id)
        .where(*AGREED)
        .order_by(finding.c.id),
        sa.select(
            job.c.id,
            sa.literal("end"),
            -job.c.total_minor,
            none,
            sa.null(),
            sa.func.coalesce(ended, job.c.booked_at),
        ).where(job.c.state.in_(OFF), job.c.total_minor != 0),
    ):
        names = ["job_id", "kind", "amount_minor", "reason", "finding_id", "at"]
        op.execute(sa.insert(entry).from_select(names, rows))


def downgrade() -> None:
    remove_verbs("move", *VERBS)
    only_added.release(op.get_bind(), TABLE)
    op.create_table(
        "payment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("amount_minor", sa.Integer(), nullable=False),
        sa.Column("how", sa.String(length=24), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "how IN ('card', 'cash', 'transfer')", name=op.f("ck_payment_paymentmethod")
        ),
        sa.CheckConstraint(
            "amount_minor >= 0", name=op.f("ck_payment_amount_minor_not_negative")
        ),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_payment_job_id_job")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_payment_person_id_person")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_payment")),
    )
    op.create_index(op.f("ix_payment_job_id"), "payment", ["job_id"])
    with op.batch_alter_table("job") as batch:
        batch.add_column(
            sa.Column("paid_minor", sa.Integer(), nullable=False, server_default=sa.text("0"))
        )
        batch.create_check_constraint(op.f("ck_job_paid_minor_not_negative"), "paid_minor >= 0")
    _take_back()
    with op.batch_alter_table("job") as batch:
        batch.alter_column("paid_minor", existing_type=sa.Integer(), server_default=None)
    op.drop_table(TABLE)


def _take_back() -> None:
    """Keep what was taken; the older form has no refunds, so only what was kept counts as paid."""
    taken = sa.select(
        entry.c.id,
        entry.c.job_id,
        -entry.c.amount_minor,
        entry.c.how,
        entry.c.at,
        entry.c.person_id,
    ).where(
        entry.c.kind == "payment",
        entry.c.amount_minor < 0,
        entry.c.id.not_in(sa.select(counter.c.reverses_id).where(counter.c.reverses_id.is_not(None))),
    )
    columns = ["id", "job_id", "amount_minor", "how", "at", "person_id"]
    op.execute(sa.insert(payment).from_select(columns, taken))
    kept = (
        sa.select(-sa.func.coalesce(sa.func.sum(entry.c.amount_minor), 0))
        .where(entry.c.job_id == job.c.id, entry.c.kind.in_(("payment", "refund")))
        .scalar_subquery()
    )
    op.execute(
        sa.update(job).values(paid_minor=sa.case((kept > 0, kept), else_=sa.literal(0)))
    )
