"""States and kinds as words that the database knows; indexes, labels of bags, sums not below zero.

`draft.reached` could be told from the answers and goes; a rush gets a column of its own.
"""

from collections import defaultdict
from typing import Any

import sqlalchemy as sa
from alembic import op

from portal.store.migrations import only_added

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

# table, column, its length before, the name of its check, its words
WORDS: tuple[tuple[str, str, int, str, tuple[str, ...]], ...] = (
    (
        *("book", "kind", 24, "documentkind"),
        (
            *("shop", "prices", "week", "stations", "place"),
            *("letters", "translations", "privacy", "terms"),
        ),
    ),
    (
        *("finding", "kind", 32, "differencekind"),
        (
            *("missing", "lost", "damage", "layers", "fitted"),
            *("metal", "size", "closed", "other"),
        ),
    ),
    ("finding", "answer", 12, "findinganswer", ("open", "accepted", "declined", "withdrawn")),
    ("finding", "answered_how", 12, "answeredhow", ("counter", "link", "told_before")),
    ("inspection", "rule", 24, "inspectionrule", ("quality_label", "spot")),
    ("job", "tell_by", 12, "tellby", ("email", "phone")),
    ("job", "expected_unless", 16, "slow", ("layers", "chrome", "colour", "size", "several")),
    (
        *("letter", "kind", 24, "letterkind"),
        (
            *("booked", "resume_link", "received", "finding", "new_date"),
            *("ready", "handed_back", "not_brought", "question_asked", "question_answered"),
        ),
    ),
    ("letter", "state", 12, "letterstate", ("queued", "sending", "sent", "given_up")),
    (
        *("part", "arrived", 16, "arrival"),
        ("unchecked", "as_declared", "differs", "missing", "turned_away", "lost"),
    ),
    ("payment", "how", 12, "paymentmethod", ("card", "cash", "transfer")),
    (
        *("photo", "purpose", 16, "photopurpose"),
        ("declared", "arrival", "finding", "inspection", "question"),
    ),
    (
        *("powder", "effect", 16, "effect"),
        ("solid", "metallic", "translucent", "texture", "chrome", "clear"),
    ),
    ("stock_move", "why", 24, "stockreason", ("load", "delivery", "stocktake")),
    ("strip_run", "state", 12, "runstate", ("gathering", "away", "back")),
)
OPTIONAL = frozenset({("finding", "answered_how"), ("job", "expected_unless")})
# what stood for "nobody has said yet", and one value with a space
RENAMED = (
    ("part", "arrived", "", "unchecked"),
    ("finding", "answer", "", "open"),
    ("finding", "answered_how", "", None),
    ("finding", "answered_how", "told before", "told_before"),
)
MONEY = (
    ("job", "total_minor"),
    ("job", "deposit_minor"),
    ("job", "paid_minor"),
    ("payment", "amount_minor"),
)
INDEXED = ("oven_load_part", "strip_run_part", "finding", "photo")
WIDTH = 24


def upgrade() -> None:
    with op.batch_alter_table("finding") as finding:
        finding.alter_column("answered_how", existing_type=sa.String(12), nullable=True)
    with op.batch_alter_table("job") as job:
        job.add_column(sa.Column("rush", sa.Boolean(), nullable=True))
    for table, column, was, to in RENAMED:
        _rename(table, column, was, to)
    _fill_rush()
    _tell_bags_apart()
    for table in _tables():
        with op.batch_alter_table(table) as batch:
            for column, before, check, words in _words_of(table):
                batch.alter_column(
                    column,
                    existing_type=sa.String(before),
                    type_=sa.String(WIDTH),
                    existing_nullable=(table, column) in OPTIONAL,
                )
                listed = ", ".join(f"'{word}'" for word in words)
                batch.create_check_constraint(op.f(f"ck_{table}_{check}"), f"{column} IN ({listed})")
            for column in _money_of(table):
                name = op.f(f"ck_{table}_{column}_not_negative")
                batch.create_check_constraint(name, f"{column} >= 0")
            if table == "job":
                batch.alter_column("rush", existing_type=sa.Boolean(), nullable=False)
    with op.batch_alter_table("hardware_bag") as bag:
        bag.create_unique_constraint(op.f("uq_hardware_bag_job_id_label"), ["job_id", "label"])
    with op.batch_alter_table("draft") as draft:
        draft.drop_column("reached")
    for table in INDEXED:
        op.create_index(op.f(f"ix_{table}_part_id"), table, ["part_id"])
    _guard_anew("stock_move")


def downgrade() -> None:
    for table in INDEXED:
        op.drop_index(op.f(f"ix_{table}_part_id"), table)
    with op.batch_alter_table("draft") as draft:
        draft.add_column(
            sa.Column("reached", sa.Integer(), nullable=False, server_default=sa.text("1"))
        )
    _fill_reached()
    with op.batch_alter_table("draft") as draft:
        draft.alter_column("reached", existing_type=sa.Integer(), server_default=None)
    with op.batch_alter_table("hardware_bag") as bag:
        bag.drop_constraint(op.f("uq_hardware_bag_job_id_label"))
    for table in _tables():
        with op.batch_alter_table(table) as batch:
            for column, before, check, _ in _words_of(table):
                batch.drop_constraint(op.f(f"ck_{table}_{check}"))
                batch.alter_column(
                    column,
                    existing_type=sa.String(WIDTH),
                    type_=sa.String(before),
                    existing_nullable=(table, column) in OPTIONAL,
                )
            for column in _money_of(table):
                batch.drop_constraint(op.f(f"ck_{table}_{column}_not_negative"))
            if table == "job":
                batch.drop_column("rush")
    for table, column, was, to in RENAMED:
        _rename(table, column, to, was)
    with op.batch_alter_table("finding") as finding:
        finding.alter_column("answered_how", existing_type=sa.String(12), nullable=False)
    _guard_anew("stock_move")


def _tables() -> tuple[str, ...]:
    named = {table for table, *_ in WORDS} | {table for table, _ in MONEY}
    return tuple(sorted(named))


def _words_of(table: str) -> list[tuple[str, int, str, tuple[str, ...]]]:
    return [(column, length, check, words) for of, column, length, check, words in WORDS if of == table]


def _money_of(table: str) -> list[str]:
    return [column for of, column in MONEY if of == table]


def _rename(table: str, column: str, was: str | None, to: str | None) -> None:
    named = sa.table(table, sa.column(column, sa.String()))
    cell = named.c[column]
    same = cell.is_(None) if was is None else cell == was
    op.execute(sa.update(named).where(same).values({column: to}))


def _fill_rush() -> None:
    bind = op.get_bind()
    job = sa.table(
        "job",
        sa.column("id", sa.Integer()),
        sa.column("declared", sa.JSON()),
        sa.column("rush", sa.Boolean()),
    )
    bind.execute(sa.update(job).values(rush=False))
    declared: dict[str, Any]
    for job_id, declared in bind.execute(sa.select(job.c.id, job.c.declared)).all():
        if declared.get("rush"):
            bind.execute(sa.update(job).where(job.c.id == job_id).values(rush=True))


def _tell_bags_apart() -> None:
    """Give a bag whose label its job has twice the next free one."""
    bind = op.get_bind()
    bag = sa.table(
        "hardware_bag",
        sa.column("id", sa.Integer()),
        sa.column("job_id", sa.Integer()),
        sa.column("label", sa.String()),
    )
    of_job = defaultdict(list)
    for bag_id, job_id, label in bind.execute(
        sa.select(bag.c.id, bag.c.job_id, bag.c.label).order_by(bag.c.id)
    ).all():
        of_job[job_id].append((bag_id, label))
    for bags in of_job.values():
        taken = {label for _, label in bags}
        seen: set[str] = set()
        for bag_id, label in bags:
            if label in seen:
                number = next(n for n in range(1, len(bags) + 2) if f"B{n}" not in taken)
                taken.add(f"B{number}")
                change = sa.update(bag).where(bag.c.id == bag_id)
                bind.execute(change.values(label=f"B{number}"))
            seen.add(label)


def _fill_reached() -> None:
    bind = op.get_bind()
    draft = sa.table(
        "draft",
        sa.column("id", sa.Integer()),
        sa.column("answers", sa.JSON()),
        sa.column("reached", sa.Integer()),
    )
    for draft_id, answers in bind.execute(sa.select(draft.c.id, draft.c.answers)).all():
        change = sa.update(draft).where(draft.c.id == draft_id)
        bind.execute(change.values(reached=_reached(answers)))


def _reached(answers: dict[str, Any]) -> int:
    """Return the number of the furthest page that answers reach, as the old form counted it."""
    declared, saved = answers.get("declared", {}), answers.get("saved", {})
    sets = declared.get("sets", [])
    told = (
        bool(sets),
        all(one.get("layers") for one in sets),
        declared.get("bringing") and all(f"fitted:{one['key']}" in saved for one in sets),
        all(one.get("finish") for one in sets),
        answers.get("slot"),
        answers.get("contact"),
    )
    return next((page for page, done in enumerate(told, 1) if not done), len(told) + 1)


def _guard_anew(table: str) -> None:
    """Put the triggers of a table back; SQLite drops them with the table that it makes anew."""
    if op.get_bind().dialect.name == "sqlite":
        only_added.guard(op.get_bind(), table)
