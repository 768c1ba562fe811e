"""What the house states is kept as messages; what somebody typed stays text.

A message is JSON, {"msgid": …, "values": {…}}, so that each reader has it in their language.
English text of before becomes a message where its facts are known, else one that repeats it.
"""

import json
import re
from collections.abc import Callable, Mapping
from typing import Any

import sqlalchemy as sa
from alembic import op

from portal.store.migrations import only_added

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

Kept = dict[str, Any]
TEXTS = (("job", "summary"), ("part", "label"), ("inspection", "says"))
# how parts and kinds were called; each has its translation
NAMES = sorted(
    (
        *("Wheel", "Brake caliper", "Bumper", "Tube", "Plate", "Box", "Railing", "Frame"),
        *("Garden chair", "Garden table", "Garden bench", "Metal part", "Wheels"),
        *("Brake calipers", "Bumper or bull bar", "Tube or bar", "Plate or sheet"),
        *("Box or cover", "Railing or gate", "Bicycle or motorcycle frame", "Garden chairs"),
        *("Garden tables", "Garden benches", "Something else made of metal"),
    ),
    key=len,
    reverse=True,
)
NAMED = re.compile(rf"(?:^|(?<=× ))({'|'.join(map(re.escape, NAMES))})\b")
MISSING, FOUND = (
    "Missing from strip run {run}: tag {tags}",
    "Part {part} was found again: tell the customer",
)
FLAGS = (
    (MISSING, re.compile(r"Missing from strip run (?P<run>\d+): tag (?P<tags>.*)")),
    (FOUND, re.compile(r"Part (?P<part>\d+) was found again: tell the customer")),
)
PRESENCE = re.compile(r"(?P<bag>B\d+): (?P<is>here|missing)")
PAID = {"card": "Card", "cash": "Cash", "transfer": "Bank transfer"}

move = sa.table(
    "move",
    sa.column("id", sa.Integer()),
    sa.column("job_id", sa.Integer()),
    sa.column("verb", sa.String()),
    sa.column("note", sa.String()),
    sa.column("data", sa.JSON()),
    sa.column("says", sa.Text()),
)
finding = sa.table(
    "finding",
    sa.column("id", sa.Integer()),
    sa.column("job_id", sa.Integer()),
    sa.column("says", sa.Text()),
    sa.column("change", sa.JSON()),
)


def upgrade() -> None:
    with op.batch_alter_table("job") as job:
        job.alter_column("flag", existing_type=sa.String(200), type_=sa.Text(), nullable=True)
    for table in ("finding", "inspection"):
        with op.batch_alter_table(table) as batch:
            batch.alter_column(
                "says", existing_type=sa.String(400), type_=sa.Text(), existing_nullable=False
            )
    only_added.release(op.get_bind(), "move")
    with op.batch_alter_table("move") as batch:
        batch.add_column(sa.Column("says", sa.Text(), nullable=True))
    _each_move(_stated(_findings_by_text()))
    only_added.guard(op.get_bind(), "move")
    for table, column in TEXTS:
        _each(table, column, lambda text: text if _is_message(text) else _of_name(text))
    _each("job", "flag", _of_flag)
    _findings_up()


def downgrade() -> None:
    only_added.release(op.get_bind(), "move")
    _each_move(_as_note)
    with op.batch_alter_table("move") as batch:
        batch.drop_column("says")
    only_added.guard(op.get_bind(), "move")
    _findings_down()
    # names were messages before, but for the oldest
    for table, column in TEXTS[:2]:
        _each(table, column, _text_of_oldest)
    _each("inspection", "says", lambda text: _english(json.loads(text))[:400])
    _each("job", "flag", lambda text: _english(json.loads(text))[:200] if text else "")
    for table in ("finding", "inspection"):
        with op.batch_alter_table(table) as batch:
            batch.alter_column(
                "says", existing_type=sa.Text(), type_=sa.String(400), existing_nullable=False
            )
    with op.batch_alter_table("job") as job:
        job.alter_column("flag", existing_type=sa.Text(), type_=sa.String(200), nullable=False)


def _each(table: str, column: str, change: Callable[[Any], Any]) -> None:
    """Put `change(text)` in the place of each text of a column."""
    bind = op.get_bind()
    named = sa.table(table, sa.column("id", sa.Integer()), sa.column(column, sa.Text()))
    for row_id, text in bind.execute(sa.select(named.c.id, named.c[column])).all():
        to = change(text)
        if to != text:
            bind.execute(sa.update(named).where(named.c.id == row_id).values({column: to}))


def _is_message(text: str) -> bool:
    return text.startswith('{"msgid"')


def _json(msgid: str, **values: Any) -> str:
    return json.dumps({"msgid": msgid, "values": values}, ensure_ascii=False)


def _verbatim(text: str) -> str:
    return _json("{text}", text=text)


def _of_name(text: str) -> str:
    """Return an old name as a message whose nouns can be translated; `text` is how it stood."""
    nouns: Kept = {}

    def noun(found: re.Match[str]) -> str:
        place = f"p{len(nouns)}"
        nouns[place] = {"msgid": found[1], "values": {}}
        return f"\0{place}\1"

    marked = NAMED.sub(noun, text)
    if not nouns:
        return _verbatim(text)
    template = marked.replace("{", "{{").replace("}", "}}").replace("\0", "{").replace("\1", "}")
    return _json(template, text=text, **nouns)


def _text_of_oldest(text: str) -> str:
    kept = json.loads(text)
    old = kept["values"].get("text")
    return old if isinstance(old, str) else text


def _of_flag(text: str) -> str | None:
    if not text:
        return None
    for msgid, pattern in FLAGS:
        found = pattern.fullmatch(text)
        if found:
            facts = found.groupdict()
            return _json(msgid, **{k: int(v) if k != "tags" else v for k, v in facts.items()})
    return _verbatim(text)


def _joined(sentences: list[Kept]) -> str:
    values = {f"s{n}": one for n, one in enumerate(sentences)}
    return _json(" ".join(f"{{{name}}}" for name in values), **values)


def _findings_by_text() -> dict[tuple[int, str], str]:
    rows = op.get_bind().execute(
        sa.select(finding.c.job_id, finding.c.says, finding.c.change).order_by(finding.c.id)
    )
    return {(job, says): _joined(kept) for job, says, kept in _with_sentences(rows.all())}


def _with_sentences(rows: Any) -> list[tuple[int, str, list[Kept]]]:
    return [(job, says, change["says"]) for job, says, change in rows if change.get("says")]


def _findings_up() -> None:
    bind = op.get_bind()
    for row_id, says, change in bind.execute(
        sa.select(finding.c.id, finding.c.says, finding.c.change)
    ).all():
        rest = {name: value for name, value in change.items() if name != "says"}
        kept = change.get("says")
        to = _joined(kept) if kept else _verbatim(says)
        put = sa.update(finding).where(finding.c.id == row_id)
        bind.execute(put.values(says=to, change=rest))


def _findings_down() -> None:
    bind = op.get_bind()
    for row_id, text, change in bind.execute(
        sa.select(finding.c.id, finding.c.says, finding.c.change)
    ).all():
        says = json.loads(text)
        sentences = [] if says["msgid"] == "{text}" else [*says["values"].values()]
        before = {**change, "says": sentences} if sentences else change
        put = sa.update(finding).where(finding.c.id == row_id)
        bind.execute(put.values(says=_english(says)[:400], change=before))


Row = tuple[int, str, str, Mapping[str, Any], str | None]


def _each_move(change: Callable[[Row], Kept]) -> None:
    bind = op.get_bind()
    columns = (move.c.job_id, move.c.verb, move.c.note, move.c.data, move.c.says)
    for row_id, *row in bind.execute(sa.select(move.c.id, *columns)).all():
        to = change(tuple(row))  # type: ignore[arg-type]  # as the columns stand above
        if to:
            bind.execute(sa.update(move).where(move.c.id == row_id).values(to))


def _stated(findings: Mapping[tuple[int, str], str]) -> Callable[[Row], Kept]:
    def change(row: Row) -> Kept:
        job, verb, note, data, _ = row
        presence = PRESENCE.fullmatch(note)
        if verb == "arrived":
            return {"verb": "reopened" if note == "open" else verb, "note": ""}
        if verb == "settle":
            return {"note": "", "data": {**data, "answer": note}}
        if verb == "new_date":
            return {"note": "", "data": {**data, "day": note}}
        if verb == "pay" and note == PAID.get(data.get("how", "")):
            return {"note": ""}
        if verb == "colour" and note:
            return {"note": "", "says": _json("{colour}", colour={"colour": note})}
        if verb == "bag" and presence:
            return {"note": "", "says": _json(f"{{bag}}: {presence['is']}", bag=presence["bag"])}
        if verb == "finding" and (job, note) in findings:
            return {"note": "", "says": findings[job, note]}
        return {}

    return change


def _as_note(row: Row) -> Kept:
    _, verb, _, data, says = row
    rest = dict(data)
    if says is not None:
        return {"note": _english(json.loads(says))[:400]}
    if verb in ("arrived", "reopened"):
        return {"verb": "arrived", "note": "open" if verb == "reopened" else "as_declared"}
    if verb == "settle" and "answer" in rest:
        return {"note": rest.pop("answer"), "data": rest}
    if verb == "new_date" and "day" in rest:
        return {"note": rest.pop("day"), "data": rest}
    if verb == "pay" and rest.get("how") in PAID:
        return {"note": PAID[rest["how"]]}
    return {}


def _english(kept: Any) -> str:
    """Return a message in English, its values plainly: good enough for a form without messages."""
    if isinstance(kept, list):
        return ", ".join(map(_english, kept))
    if not isinstance(kept, Mapping):
        return str(kept)
    if "msgid" not in kept:
        return " ".join(map(_english, kept.values()))
    values = {name: _english(value) for name, value in kept["values"].items()}
    several = kept.get("many") and kept["values"].get("count") != 1
    template: str = kept["many"] if several else kept["msgid"]
    return template.format(**values) if values else template
