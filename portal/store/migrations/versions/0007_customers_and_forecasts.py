"""Who orders, and what the floor forecasts, in tables of their own.

Every job of before gets a customer of its own, with its number.
"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

STAGES = (
    *("expected", "prep", "strip", "blast", "coat", "cure", "inspect", "refit", "done", "gone"),
)
INDEXED = ("email", "name", "phone")

WHO = (
    sa.Column("name", sa.String(120)),
    sa.Column("email", sa.String(254)),
    sa.Column("phone", sa.String(24)),
    sa.Column("tell_by", sa.String(24)),
    sa.Column("locale", sa.String(8)),
)
FORESEEN = (
    ("forecast_at", "safe_at", sa.DateTime(timezone=True)),
    ("forecast_likely_at", "likely_at", sa.DateTime(timezone=True)),
    ("forecast_station", "station", sa.String(24)),
    ("forecast_made_at", "made_at", sa.DateTime(timezone=True)),
)
job = sa.table(
    "job",
    *(sa.column(name) for name in ("id", "customer_id", "booked_at")),
    *(sa.column(one.name) for one in WHO),
    *(sa.column(name) for name, _, _ in FORESEEN),
)
customer = sa.table("customer", sa.column("id"), *(sa.column(one.name) for one in WHO))
forecast = sa.table("forecast", sa.column("job_id"), *(sa.column(name) for _, name, _ in FORESEEN))


def upgrade() -> None:
    op.create_table(
        "customer",
        sa.Column("id", sa.Integer(), nullable=False),
        *(sa.Column(one.name, one.type, nullable=False) for one in WHO),
        sa.CheckConstraint("tell_by IN ('email', 'phone')", name=op.f("ck_customer_tellby")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_customer")),
    )
    listed = ", ".join(f"'{stage}'" for stage in STAGES)
    op.create_table(
        "forecast",
        sa.Column("job_id", sa.Integer(), nullable=False),
        *(sa.Column(name, kind, nullable=name == "station") for _, name, kind in FORESEEN),
        sa.CheckConstraint(f"station IN ({listed})", name=op.f("ck_forecast_partstage")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_forecast_job_id_job")),
        sa.PrimaryKeyConstraint("job_id", name=op.f("pk_forecast")),
    )
    with op.batch_alter_table("job") as batch:
        batch.add_column(sa.Column("customer_id", sa.Integer(), nullable=True))
    _fill_new_tables()
    for column in INDEXED:
        op.create_index(op.f(f"ix_customer_{column}"), "customer", [column])
        op.drop_index(op.f(f"ix_job_{column}"), "job")
    with op.batch_alter_table("job") as batch:
        batch.drop_constraint(op.f("ck_job_tellby"))
        for one in WHO:
            batch.drop_column(one.name)
        for name, _, _ in FORESEEN:
            batch.drop_column(name)
        batch.alter_column("customer_id", existing_type=sa.Integer(), nullable=False)
        batch.create_foreign_key(
            op.f("fk_job_customer_id_customer"), "customer", ["customer_id"], ["id"]
        )
    op.create_index(op.f("ix_job_customer_id"), "job", ["customer_id"])


def _fill_new_tables() -> None:
    columns = [one.name for one in WHO]
    op.execute(
        sa.insert(customer).from_select(
            ["id", *columns], sa.select(job.c.id, *(job.c[name] for name in columns))
        )
    )
    op.execute(sa.update(job).values(customer_id=job.c.id))
    if op.get_bind().dialect.name == "postgresql":
        # the next number comes after the last one that was given
        op.execute(
            "SELECT setval(pg_get_serial_sequence('customer', 'id'), max(id)) "
            "FROM customer HAVING max(id) IS NOT NULL"
        )
    foreseen = sa.select(
        job.c.id,
        job.c.forecast_at,
        sa.func.coalesce(job.c.forecast_likely_at, job.c.forecast_at),
        sa.func.nullif(job.c.forecast_station, ""),
        sa.func.coalesce(job.c.forecast_made_at, job.c.booked_at),
    ).where(job.c.forecast_at.is_not(None))
    op.execute(
        sa.insert(forecast).from_select(["job_id", *(name for _, name, _ in FORESEEN)], foreseen)
    )


def downgrade() -> None:
    with op.batch_alter_table("job") as batch:
        for one in WHO:
            batch.add_column(sa.Column(one.name, one.type, nullable=True))
        for name, _, kind in FORESEEN:
            batch.add_column(sa.Column(name, kind, nullable=True))
    for one in WHO:
        own = sa.select(customer.c[one.name]).where(customer.c.id == job.c.customer_id)
        op.execute(sa.update(job).values({one.name: own.scalar_subquery()}))
    for name, foreseen, _ in FORESEEN:
        own = sa.select(forecast.c[foreseen]).where(forecast.c.job_id == job.c.id)
        op.execute(sa.update(job).values({name: own.scalar_subquery()}))
    op.execute(
        sa.update(job).values(forecast_station="").where(job.c.forecast_station.is_(None))
    )
    op.drop_index(op.f("ix_job_customer_id"), "job")
    with op.batch_alter_table("job") as batch:
        batch.drop_constraint(op.f("fk_job_customer_id_customer"))
        batch.drop_column("customer_id")
        for one in (*WHO, sa.Column("forecast_station", sa.String(24))):
            batch.alter_column(one.name, existing_type=one.type, nullable=False)
        batch.create_check_constraint(op.f("ck_job_tellby"), "tell_by IN ('email', 'phone')")
    for column in INDEXED:
        op.create_index(op.f(f"ix_job_{column}"), "job", [column])
    op.drop_table("forecast")
    op.drop_table("customer")
