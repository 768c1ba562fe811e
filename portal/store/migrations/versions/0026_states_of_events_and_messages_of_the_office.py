"""States of events and results of checks are words that the database knows.

What the house states in the office's log is kept as messages, so that each reader has it in their
language. What a question is about is called its snapshot.
"""

import json
import re
from collections.abc import Iterable, Mapping
from typing import Any

import sqlalchemy as sa
from alembic import op

from portal.store.migrations import only_added

revision = "0026"
down_revision = "0025"
branch_labels = None
depends_on = None

# '' is where a job stood before it was booked
STATES = (
    "",
    *("booked", "received", "waiting", "in_work", "ready", "handed_back"),
    *("not_brought", "called_off", "turned_away", "not_fetched"),
    *("expected", "prep", "strip", "blast", "coat", "cure", "inspect", "refit", "done", "gone"),
)
RESULTS = (
    *("clear", "found", "none", "open", "sealed", "seen", "missing", "fits"),
    *("aluminium", "steel", "magnesium", "factory_paint", "powder", "liquid_paint", "unclear"),
    *("within", "bent", "beyond", "clean", "scored", "done", "cracked", "enough", "thin"),
    *("crack", "sound", "pitted", "slag", "chosen", "reopened", "waived"),
)
COLUMNS = ("from_state", "to_state")
ROLES = {"Floor": "floor", "Counter": "counter", "Office": "office"}
LONGEST = 400
# what English text there was, and how it reads in English; `role` is a word, the rest plain
PATTERNS = (
    ("{login} ({role})", re.compile(r"(?P<login>.+) \((?P<role>Floor|Counter|Office)\)")),
    ("question {n}", re.compile(r"question (?P<n>\d+)")),
    ("letter {n}", re.compile(r"letter (?P<n>\d+)")),
    ("everything", re.compile(r"everything")),
)
WITH_WORDS = (
    *("add_person", "renew_person", "answer_question", "close_question", "erase_question"),
    *("send_again", "export"),
)

audit = sa.table(
    "audit",
    sa.column("id", sa.Integer),
    sa.column("verb", sa.String),
    sa.column("what", sa.String),
    sa.column("says", sa.Text),
)


def upgrade() -> None:
    bind = op.get_bind()
    for table in ("audit", "move", "part_check"):
        only_added.release(bind, table)
    with op.batch_alter_table("audit") as batch:
        batch.add_column(sa.Column("says", sa.Text(), nullable=True))
    _texts_to_messages()
    for column in COLUMNS:
        _name_unknown("move", column, STATES, "")
    with op.batch_alter_table("move") as batch:
        for column in COLUMNS:
            batch.create_check_constraint(op.f(f"ck_move_{column}"), _one_of(column, STATES))
    # a line of work with a result that nobody knows is open
    _name_unknown("part_check", "result", RESULTS, "reopened")
    with op.batch_alter_table("part_check") as batch:
        batch.create_check_constraint(
            op.f("ck_part_check_checkresult"), _one_of("result", RESULTS)
        )
    for table in ("audit", "move", "part_check"):
        only_added.guard(bind, table)
    _rename("told", "snapshot")


def downgrade() -> None:
    _rename("snapshot", "told")
    bind = op.get_bind()
    for table in ("audit", "move", "part_check"):
        only_added.release(bind, table)
    with op.batch_alter_table("part_check") as batch:
        batch.drop_constraint(op.f("ck_part_check_checkresult"), type_="check")
    with op.batch_alter_table("move") as batch:
        for column in COLUMNS:
            batch.drop_constraint(op.f(f"ck_move_{column}"), type_="check")
    for row_id, says in bind.execute(sa.select(audit.c.id, audit.c.says)).all():
        if says is not None:
            text = _english(json.loads(says))[:LONGEST]
            bind.execute(sa.update(audit).where(audit.c.id == row_id).values(what=text))
    with op.batch_alter_table("audit") as batch:
        batch.drop_column("says")
    for table in ("audit", "move", "part_check"):
        only_added.guard(bind, table)


def _rename(before: str, after: str) -> None:
    with op.batch_alter_table("question") as batch:
        batch.alter_column(before, new_column_name=after)


def _one_of(column: str, words: Iterable[str]) -> str:
    listed = ", ".join(f"'{word}'" for word in words)
    return f"{column} IN ({listed})"


def _name_unknown(table: str, column: str, known: tuple[str, ...], instead: str) -> None:
    """Put `instead` for what is none of the `known` words, and keep that word before the note."""
    rows = sa.table(table, sa.column(column, sa.String), sa.column("note", sa.String))
    word, note = rows.c[column], rows.c.note
    longest = 300 if table == "part_check" else LONGEST
    kept = sa.func.substr(word + ": " + note, 1, longest)
    op.get_bind().execute(
        sa.update(rows)
        .where(word.not_in(known))
        .values({column: instead, "note": sa.case((note == "", word), else_=kept)})
    )


def _texts_to_messages() -> None:
    bind = op.get_bind()
    query = sa.select(audit.c.id, audit.c.what).where(audit.c.verb.in_(WITH_WORDS))
    for row_id, what in bind.execute(query).all():
        message = _message(what)
        if message:
            values = {"what": "", "says": json.dumps(message, ensure_ascii=False)}
            bind.execute(sa.update(audit).where(audit.c.id == row_id).values(values))


def _message(what: str) -> dict[str, Any] | None:
    for msgid, pattern in PATTERNS:
        if found := pattern.fullmatch(what):
            values = {name: _value(name, text) for name, text in found.groupdict().items()}
            return {"msgid": msgid, "values": values}
    return None


def _value(name: str, text: str) -> Any:
    if name == "role":
        return {"word": ["Role", ROLES[text]]}
    return int(text) if name == "n" else text


def _english(stored: Any) -> str:
    """Return a message in English, its values plainly."""
    if isinstance(stored, list):
        return ", ".join(map(_english, stored))
    if not isinstance(stored, Mapping):
        return str(stored)
    if "word" in stored:
        titles = {word: title for title, word in ROLES.items()}
        return titles.get(stored["word"][1], stored["word"][1])
    if "msgid" not in stored:
        return " ".join(map(_english, stored.values()))
    values = {name: _english(value) for name, value in stored["values"].items()}
    template: str = stored["msgid"]
    return template.format(**values) if values else template
