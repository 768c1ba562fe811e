"""Which parts are bare since their blasting, by the events of the floor."""

from collections.abc import Iterable, Mapping
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.errors import Refused
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.kernel.work_card import rusts_in
from portal.shop.bare_metal import BareMetal, too_late
from portal.shop.route import BARING, PartStage
from portal.shop.verbs import EventVerb
from portal.shop.works import WorkRules
from portal.store.jobs import Part
from portal.store.moves import Move

# built once: building a statement costs more than running it
_BARED = (
    sa.select(Move.part_id, Move.verb, Move.at)
    .where(
        Move.part_id.in_(sa.bindparam("part_ids", expanding=True)),
        (Move.verb == EventVerb.REWORK) | ((Move.verb == EventVerb.MOVE) & Move.from_.in_(BARING)),
    )
    .order_by(Move.id)
)


def blasted_at(session: Session, part_ids: Iterable[int]) -> dict[int, datetime]:
    """Return since when parts are bare; a part that was sent back with its coat on is not."""
    rows = session.execute(_BARED, {"part_ids": list(part_ids)}).all()
    last = {part_id: (verb, at) for part_id, verb, at in rows if part_id}
    return {part_id: at for part_id, (verb, at) in last.items() if verb == EventVerb.MOVE}


def waits_bare(stage: PartStage, coats_done: int) -> bool:
    """Return whether a part waits here for its first coat."""
    return stage.uses_powder and not coats_done


def bare_parts(
    unit: UnitOfWork, session: Session, waiting: Mapping[int, bool | None]
) -> dict[int, BareMetal]:
    """Return how long parts that wait for their first coat are bare; `waiting` tells which rust."""
    if not waiting:
        return {}
    now, rules = unit.now(), unit.shop(session).rules
    return {
        part_id: _bare(since, now, rules, rusts=waiting[part_id])
        for part_id, since in blasted_at(session, list(waiting)).items()
    }


def check_fresh(
    unit: UnitOfWork, session: Session, part: Part, to: PartStage, *, at: datetime
) -> None:
    """Refuse to take a part as coated when it was bare for too long; `at` is when it was."""
    if not waits_bare(part.stage, part.coats_done) or not part.stage.is_before(to):
        return
    since = blasted_at(session, [part.id]).get(part.id)
    if since is None:
        return
    bare = _bare(since, at, unit.shop(session).rules, rusts=rusts_in(part.work))
    if bare.over:
        raise Refused(too_late(part.number, bare))


def _bare(since: datetime, now: datetime, rules: WorkRules, *, rusts: bool | None) -> BareMetal:
    return BareMetal(since, now, None if rusts is None else rules.coat_within(rusts=rusts))
