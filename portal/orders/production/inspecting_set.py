"""The inspection of a whole set: the readings of every part on one page, judged part by part."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from portal.craft.message_json import from_json
from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.production.inspecting import Looked, inspect_part
from portal.orders.production.readings import Spots
from portal.shop.faults import Fault


@dataclass(frozen=True, slots=True)
class MeasuredSet:
    """What was measured and seen of one part of the set."""

    part_id: int
    spots: Spots
    looked: Looked


@dataclass(frozen=True, slots=True)
class SetResult:
    """The verdict on one part of the set."""

    part_id: int
    accepted: bool
    says: Message
    fault: Fault | None


def inspect_set(
    unit: UnitOfWork, measured: Sequence[MeasuredSet], *, once_token: str, who: int | None
) -> tuple[SetResult, ...]:
    """Record the inspections of several parts: all of them, or none where one can't be judged.

    Raises `Refused` whose key names the field and the part: `readings-12`.
    """
    answer = _inspect_set(unit, tuple(measured), once_token=once_token, who=who)
    return tuple(
        SetResult(
            one["part_id"],
            one["accepted"],
            from_json(one["says"]),
            Fault(one["fault"]) if one["fault"] else None,
        )
        for one in answer["parts"]
    )


@transactional
@idempotent("inspect_set")
def _inspect_set(
    unit: UnitOfWork,
    session: Session,
    measured: tuple[MeasuredSet, ...],
    *,
    once_token: str,  # taken by the decorator
    who: int | None,
) -> dict[str, Any]:
    if not measured:
        raise Refused(Message("Enter the readings of at least one part."))
    # always in the same order, so that two people at one set can't wait in a ring
    return {
        "parts": [
            {"part_id": one.part_id, **_one(unit, session, one, who=who)}
            for one in sorted(measured, key=lambda one: one.part_id)
        ]
    }


def _one(
    unit: UnitOfWork, session: Session, one: MeasuredSet, *, who: int | None
) -> dict[str, Any]:
    try:
        return inspect_part(unit, session, one.part_id, one.spots, one.looked, who=who)
    except Refused as refusal:
        key = f"{refusal.key or 'readings'}-{one.part_id}"
        raise Refused(refusal.sentence, key=key) from refusal
