"""Where each wheel sat is noted at check-in, "not known" as such, and can be put right later."""

from collections.abc import Mapping, Sequence

from sqlalchemy.orm import Session

from portal.craft.corners import Corner, counts
from portal.craft.messages import Message
from portal.craft.parts import PartKind
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.job_lock import (
    lock_job,
    not_now,
    parts_of,
    parts_on_site,
    record_event,
    refuse_if_overtaken,
)
from portal.orders.kernel.job_order import declared_of
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.moves import JobState
from portal.shop.verbs import EventVerb
from portal.store.jobs import Job, Part


@transactional
def note_corners(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    corners: Mapping[int, Corner],
    *,
    expected_event_id: int | None = None,
    who: int | None,
) -> int:
    """Save where parts sat, by their numbers; return how many are new.

    Refused for what is no wheel, and once the wheels have gone home. With `expected_event_id`
    raise Overtaken where somebody changed the job meanwhile.
    """
    job = lock_job(session, job_id)
    if not (job.state.is_open or job.state is JobState.READY):
        raise Refused(not_now(job.state))
    if expected_event_id is not None:
        refuse_if_overtaken(session, job_id, expected_event_id)
    wheels = {part.number: part for part in _wheels(job, parts_of(session, job_id))}
    noted = 0
    for number, corner in corners.items():
        if number not in wheels:
            raise Unknown(Message("This job has no wheel {number}.", number=number))
        part = wheels[number]
        if part.corner is not corner:
            part.corner = corner
            noted += 1
            record_event(
                session,
                job,
                EventVerb.CORNER,
                at=unit.now(),
                who=who,
                part_id=part.id,
                says=Message("{corner}", corner=corner),
            )
    return noted


def corner_not_noted(job: Job, parts: Sequence[Part]) -> list[int]:
    """Return the numbers of the parts on site whose corner counts and that nobody has noted."""
    declared = declared_of(job)
    asked = {one.key for one in declared.sets if counts(one, declared.bringing)}
    return [p.number for p in parts_on_site(parts) if p.set_key in asked and p.corner is None]


def _wheels(job: Job, parts: Sequence[Part]) -> list[Part]:
    declared = declared_of(job)
    wheels = {one.key for one in declared.sets if one.kind is PartKind.WHEEL}
    return [part for part in parts if part.set_key in wheels]
