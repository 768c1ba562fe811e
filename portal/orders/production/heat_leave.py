"""The maker's permission to heat a part beyond the shop's limit: recorded once, never changed.

It is an event of the part, so it stands in the job's log and in the record.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.shop.verbs import EventVerb
from portal.store.moves import Move
from portal.store.people import Person


@dataclass(frozen=True, slots=True)
class HeatLeave:
    """What the maker allows, in minutes at 200 °C: by whom, why, and who recorded it when."""

    up_to: float
    maker: str
    why: str
    at: datetime
    by: str


def leaves_of(session: Session, part_ids: Sequence[int]) -> dict[int, HeatLeave]:
    """Return the last leave of each part that has one."""
    query = (
        sa.select(Move.part_id, Move.note, Move.data, Move.at, Person.name)
        .outerjoin(Person, Person.id == Move.person_id)
        .where(Move.part_id.in_(part_ids), Move.verb == EventVerb.HEAT_LEAVE)
        .order_by(Move.id)
    )
    return {
        part_id: HeatLeave(float(data["up_to"]), str(data["maker"]), note, at, name or "")
        for part_id, note, data, at, name in session.execute(query)
        if part_id is not None
    }
