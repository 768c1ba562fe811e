"""Columns that hold words: which of them the database lets in."""

import re
from collections.abc import Iterable

import sqlalchemy as sa
from alembic import op


def allow(table: str, column: str, check: str, words: Iterable[str]) -> None:
    """Let a column hold `words` and no others; `check` is its enum's name in lower case."""
    name = op.f(f"ck_{table}_{check}")
    listed = ", ".join(f"'{word}'" for word in words)
    with op.batch_alter_table(table) as batch:
        batch.drop_constraint(name, type_="check")
        batch.create_check_constraint(name, f"{column} IN ({listed})")


def allow_more(table: str, column: str, check: str, *words: str) -> None:
    """Let a column hold `words` beside those that it knows; whoever else adds some is no matter."""
    known = known_words(table, check)
    allow(table, column, check, (*known, *(word for word in words if word not in known)))


def allow_fewer(table: str, column: str, check: str, *words: str) -> None:
    """Take `words` back; no row may hold one of them any more."""
    allow(table, column, check, [w for w in known_words(table, check) if w not in words])


def known_words(table: str, check: str) -> tuple[str, ...]:
    """Return the words that the database lets into a column."""
    name = f"ck_{table}_{check}"
    checks = sa.inspect(op.get_bind()).get_check_constraints(table)
    (found,) = (one["sqltext"] for one in checks if one["name"] == name)
    return tuple(re.findall(r"'(\w*)'", found))
