"""Where on the shelf a job lies: its place's label is scanned first, then a tag of the job."""

from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.job_lock import lock_job, record_event
from portal.orders.kernel.job_search import Meant, meaning
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.codes import shown
from portal.shop.moves import JobState
from portal.shop.scans import read_scan, shelf_place
from portal.shop.verbs import EventVerb
from portal.store.jobs import Job

HERE = frozenset(one for one in JobState if one.is_in_house or one is JobState.READY)
ON_A_JOB = (Meant.JOB, Meant.PART, Meant.BAG)


@dataclass(frozen=True, slots=True)
class Shelved:
    """What a scan at a place on the shelf did; `already` when the job lay there before."""

    code: str
    says: Message
    already: bool = False


@transactional
def put_on_shelf(
    unit: UnitOfWork, session: Session, typed: str, place: str, *, who: int | None
) -> Shelved:
    """Note that the job of a tag, a bag or a code lies at `place`."""
    if not place or shelf_place(f"SHELF-{place}") != place:
        raise Refused(Message("Scan the label of the place on the shelf first."))
    found = meaning(session, read_scan(typed))
    if found.means not in ON_A_JOB:
        raise Refused(found.says or Message("No part has the tag “{typed}”.", typed=typed[:20]))
    number = session.scalar(sa.select(Job.id).where(Job.code == found.code))
    job = lock_job(session, number or 0)
    said = {"code": shown(job.code), "place": place}
    if job.state not in HERE:
        raise Refused(Message("{code} is not here ({state}).", code=said["code"], state=job.state))
    if job.shelf == place:
        return Shelved(job.code, Message("{code} lies at {place} already.", **said), already=True)
    before, job.shelf = job.shelf, place
    record_event(session, job, EventVerb.SHELF, at=unit.now(), who=who, note=place)
    if before:
        says = Message("{code} lies at {place} now, no longer at {before}.", **said, before=before)
        return Shelved(job.code, says)
    return Shelved(job.code, Message("{code} lies at {place}.", **said))


@read_only
def lying_at(_unit: UnitOfWork, session: Session, place: str) -> tuple[str, ...]:
    """Return the codes, in groups, of the jobs that lie at a place."""
    query = sa.select(Job.code).where(Job.shelf == place, Job.state.in_(HERE)).order_by(Job.id)
    return tuple(map(shown, session.scalars(query)))
