"""Reworks of parts: what was wrong with each, when, and where it was sent."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.shop.faults import Fault
from portal.shop.route import PartStage
from portal.shop.verbs import EventVerb
from portal.store.moves import Move
from portal.store.types import verbatim


@dataclass(frozen=True, slots=True)
class Reworked:
    """One rework. `fault` is None where it was written down before faults had a list."""

    part_id: int
    fault: Fault | None
    says: Message
    to: PartStage
    at: datetime


# built once: building a statement costs more than running it
_REWORKS = (
    sa.select(Move.id, Move.part_id, Move.verb, Move.note, Move.says, Move.to, Move.at, Move.data)
    .where(
        Move.part_id.in_(sa.bindparam("part_ids", expanding=True)),
        Move.verb.in_((EventVerb.REWORK, EventVerb.UNDO)),
    )
    .order_by(Move.id)
)


def reworks_of(session: Session, part_ids: Sequence[int]) -> list[Reworked]:
    """Return the reworks of some parts, the oldest first, without those that were undone."""
    if not part_ids:
        return []
    rows = session.execute(_REWORKS, {"part_ids": list(part_ids)}).all()
    undone = {row.data.get("undoes") for row in rows if row.verb == EventVerb.UNDO}
    return [
        Reworked(
            part_id=row.part_id,
            fault=Fault(row.data["fault"]) if "fault" in row.data else None,
            says=row.says or verbatim(row.note),
            to=PartStage(row.to),
            at=row.at,
        )
        for row in rows
        if row.verb == EventVerb.REWORK and row.id not in undone
    ]


def last_reworks(session: Session, part_ids: Sequence[int]) -> dict[int, Reworked]:
    """Return the last rework of each part that had one."""
    return {one.part_id: one for one in reworks_of(session, part_ids)}
