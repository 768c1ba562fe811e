"""The oven loads that the forecast expects, as the floor was simulated last."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from portal.craft.bakes import Schedule
from portal.orders.planning.stored_floor import stored_plan
from portal.shop.scheduling.bake_batches import bake_of


@dataclass(frozen=True, slots=True)
class PlannedLoad:
    """A load of the nominal run: its bake, when it is in the oven (aware UTC), whose parts."""

    bake: Schedule
    starts_at: datetime
    ends_at: datetime
    job_ids: frozenset[int]
    parts: int


def planned_loads(session: Session, until: datetime) -> tuple[PlannedLoad, ...]:
    """Return the loads that start before `until`, the earliest first.

    What is in the oven now is among them, with the time that is left to it.
    """
    found = [_load(one) for one in stored_plan(session)["loads"]]
    return tuple(one for one in found if one.starts_at < until)


def _load(stored: dict[str, Any]) -> PlannedLoad:
    return PlannedLoad(
        bake=bake_of(stored["batch"]),
        starts_at=datetime.fromisoformat(stored["starts_at"]),
        ends_at=datetime.fromisoformat(stored["ends_at"]),
        job_ids=frozenset(stored["job_ids"]),
        parts=stored["parts"],
    )
