"""A later word for the log of jobs ("move") or of the office ("audit"): one line each way.

def upgrade() -> None:
    add_verbs("move", "refund")

def downgrade() -> None:
    remove_verbs("move", "refund")
"""

from collections.abc import Iterable

import sqlalchemy as sa
from alembic import op

from portal.store.migrations import only_added
from portal.store.migrations.words import allow, known_words

# table: the name of its check (its enum's, in lower case), where its words go that are not known
CHECKS = {"move": ("eventverb", "note"), "audit": ("auditverb", "what")}
OTHER = "other"
LONGEST = 400  # both notes


def add_verbs(table: str, *words: str) -> None:
    """Let the log hold `words` beside those that it knows; whoever else adds some is no matter."""
    known = _known(table)
    _allow(table, (*known, *(word for word in words if word not in known)))


def remove_verbs(table: str, *words: str) -> None:
    """Take `words` back: their rows stay, as `other` with the word in front of the note."""
    left = tuple(word for word in _known(table) if word not in words)
    rename_unknown(table, left)
    _allow(table, left)


def rename_unknown(table: str, known: Iterable[str]) -> None:
    """Call `other` what is none of the `known` words, and keep its word in front of the note."""
    _, beside = CHECKS[table]
    rows = sa.table(table, sa.column("verb", sa.String), sa.column(beside, sa.String))
    note = rows.c[beside]
    kept = sa.func.substr(rows.c.verb + ": " + note, 1, LONGEST)
    bind = op.get_bind()
    only_added.release(bind, table)
    bind.execute(
        sa.update(rows)
        .where(rows.c.verb.not_in(tuple(known)))
        .values({"verb": OTHER, beside: sa.case((note == "", rows.c.verb), else_=kept)})
    )
    only_added.guard(bind, table)


def _known(table: str) -> tuple[str, ...]:
    return known_words(table, CHECKS[table][0])


def _allow(table: str, words: Iterable[str]) -> None:
    bind = op.get_bind()
    only_added.release(bind, table)  # SQLite writes the table anew, and loses them with the old one
    allow(table, "verb", CHECKS[table][0], words)
    only_added.guard(bind, table)
