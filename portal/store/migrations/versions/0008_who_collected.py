"""Who took parts home in the customer's stead is kept where it can be erased.

Events are never changed, so a name must not stand in them. Two counters that nothing reads go.
"""

import json
import re
from typing import Any

import sqlalchemy as sa
from alembic import op

from portal.store.migrations import only_added

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

COUNTED = ("job", "part")
NAMED, UNNAMED = "without code, to {name}: {reason}", "without code: {reason}"
OWING = "owing: {reason}"
# "without code, to Sam Sample: telephone lost; owing: by transfer", as notes had it
NOTE = re.compile(
    r"(?:without code, to (?P<name>[^:]*): (?P<reason>.*?))?(?:; )?(?:owing: (?P<owing>.*))?"
)

move = sa.table(
    "move",
    *(sa.column(name) for name in ("id", "job_id", "verb", "note")),
    sa.column("says", sa.Text()),
)
job = sa.table("job", *(sa.column(name) for name in ("id", "customer_id")))
customer = sa.table("customer", *(sa.column(name) for name in ("id", "email", "collector")))


def upgrade() -> None:
    with op.batch_alter_table("customer") as batch:
        batch.add_column(
            sa.Column("collector", sa.String(120), nullable=False, server_default=sa.text("''"))
        )
    only_added.release(op.get_bind(), "move")
    for move_id, job_id, note, says in _hand_backs():
        pieces = _pieces(note, says)
        name = next((one["values"]["name"] for one in pieces if one["msgid"] == NAMED), "")
        if name:
            _put_collector(job_id, name)
        if pieces:
            _put(move_id, [_without_name(one) for one in pieces])
    only_added.guard(op.get_bind(), "move")
    with op.batch_alter_table("customer") as batch:
        batch.alter_column("collector", existing_type=sa.String(120), server_default=None)
    for table in COUNTED:
        with op.batch_alter_table(table) as batch:
            batch.drop_column("version")


def downgrade() -> None:
    for table in COUNTED:
        with op.batch_alter_table(table) as batch:
            batch.add_column(
                sa.Column("version", sa.Integer(), nullable=False, server_default=sa.text("1"))
            )
        with op.batch_alter_table(table) as batch:
            batch.alter_column("version", existing_type=sa.Integer(), server_default=None)
    only_added.release(op.get_bind(), "move")
    for move_id, job_id, _, says in _hand_backs():
        pieces = _pieces("", says)
        if pieces:
            _put(move_id, [_with_name(one, job_id) for one in pieces])
    only_added.guard(op.get_bind(), "move")
    with op.batch_alter_table("customer") as batch:
        batch.drop_column("collector")


def _hand_backs() -> list[Any]:
    query = sa.select(move.c.id, move.c.job_id, move.c.note, move.c.says)
    return list(op.get_bind().execute(query.where(move.c.verb == "hand_back")).all())


def _pieces(note: str, says: str | None) -> list[dict[str, Any]]:
    """Return what an event of a hand-back states, sentence by sentence."""
    if says is not None:
        return [one for one in json.loads(says)["values"].values() if isinstance(one, dict)]
    found = NOTE.fullmatch(note)
    if not note or found is None:
        return []
    pieces = []
    if found["name"] is not None:
        pieces.append(
            {"msgid": NAMED, "values": {"name": found["name"], "reason": found["reason"]}}
        )
    if found["owing"] is not None:
        pieces.append({"msgid": OWING, "values": {"reason": found["owing"]}})
    return pieces


def _put(move_id: int, pieces: list[dict[str, Any]]) -> None:
    values = {f"s{n}": one for n, one in enumerate(pieces)}
    kept = {"msgid": "; ".join(f"{{{name}}}" for name in values), "values": values}
    change = sa.update(move).where(move.c.id == move_id)
    op.execute(change.values(note="", says=json.dumps(kept, ensure_ascii=False)))


def _put_collector(job_id: int, name: str) -> None:
    own = sa.select(job.c.customer_id).where(job.c.id == job_id).scalar_subquery()
    # of a customer who was erased the name is erased now
    change = sa.update(customer).where(customer.c.id == own, customer.c.email != "")
    op.execute(change.values(collector=name[:120]))


def _without_name(piece: dict[str, Any]) -> dict[str, Any]:
    if piece["msgid"] != NAMED:
        return piece
    return {"msgid": UNNAMED, "values": {"reason": piece["values"]["reason"]}}


def _with_name(piece: dict[str, Any], job_id: int) -> dict[str, Any]:
    if piece["msgid"] != UNNAMED:
        return piece
    query = sa.select(customer.c.collector).join(job, job.c.customer_id == customer.c.id)
    name = op.get_bind().execute(query.where(job.c.id == job_id)).scalar() or "–"
    return {"msgid": NAMED, "values": {"name": name, "reason": piece["values"]["reason"]}}
