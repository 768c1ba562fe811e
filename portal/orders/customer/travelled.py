"""How far the parts of a job are, as the rail on the customer's page needs it."""

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.shop.rail import PartMove, Travelled
from portal.shop.verbs import MOVES_OF_PARTS
from portal.store.moves import Move

_MOVE = (Move.part_id, Move.verb, Move.from_, Move.to, Move.at)
_MOVE_QUERY = (
    sa.select(*_MOVE)
    .where(
        Move.job_id == sa.bindparam("job"),
        Move.part_id.is_not(None),
        Move.verb.in_(MOVES_OF_PARTS),
    )
    .order_by(Move.id)
)


def travelled(rows: Sequence[Any]) -> tuple[Travelled, ...]:
    return tuple(
        Travelled(
            part_id=row.id,
            stage=row.stage,
            coats=row.coats,
            coats_done=row.coats_done,
            strip=row.needs_strip,
            refit=row.needs_refit,
            reworks=row.reworks,
        )
        for row in rows
    )


def moves_of(session: Session, job_id: int) -> tuple[PartMove, ...]:
    rows = session.execute(_MOVE_QUERY, {"job": job_id})
    return tuple(PartMove(row.part_id, row.verb, row.from_, row.to, row.at) for row in rows)
