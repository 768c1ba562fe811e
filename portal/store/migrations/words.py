"""Columns that hold words: which of them the database lets in."""

from collections.abc import Iterable

from alembic import op


def allow(table: str, column: str, check: str, words: Iterable[str]) -> None:
    """Let a column hold `words` and no others; `check` is its enum's name in lower case."""
    name = op.f(f"ck_{table}_{check}")
    listed = ", ".join(f"'{word}'" for word in words)
    with op.batch_alter_table(table) as batch:
        batch.drop_constraint(name, type_="check")
        batch.create_check_constraint(name, f"{column} IN ({listed})")
