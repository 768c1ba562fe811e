"""Where parts hang while they are coated, when another place than the usual one was agreed."""

from dataclasses import replace

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.parts import LONGEST_HANG
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.job_lock import lock_job, not_now, parts_of, record_event
from portal.orders.kernel.job_order import declared_of, put_declared
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.orders.kernel.work_card import put_hanging
from portal.shop.verbs import EventVerb


@transactional
def agree_hanging(
    unit: UnitOfWork, session: Session, job_id: int, set_key: str, place: str, *, who: int | None
) -> None:
    """Save where the parts of a set hang; without a place they hang as usual."""
    text = " ".join(place.split())
    if len(text) > LONGEST_HANG:
        raise Refused(Message("Use at most {most} characters.", most=LONGEST_HANG), key="hang")
    job = lock_job(session, job_id)
    if not job.state.is_open:
        raise Refused(not_now(job.state))
    declared = declared_of(job)
    if all(one.key != set_key for one in declared.sets):
        raise Unknown(Message("There is no such set."))
    sets = tuple(replace(o, hang=text) if o.key == set_key else o for o in declared.sets)
    put_declared(job, replace(declared, sets=sets))
    for part in parts_of(session, job_id):
        if part.set_key == set_key:
            put_hanging(part, text)
    record_event(session, job, EventVerb.HANG, at=unit.now(), who=who, note=text)
