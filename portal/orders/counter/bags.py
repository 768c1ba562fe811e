"""Hardware bags of a job: recorded and removed; a lost one is `lost_bags`."""

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter.check_in import checkable
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.job_lock import lock_job, record_event
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.states import FindingAnswer
from portal.shop.verbs import EventVerb
from portal.store.jobs import Finding, HardwareBag

LONGEST_CONTENTS = 200


@transactional
def add_bag(
    unit: UnitOfWork, session: Session, job_id: int, contents: str, *, who: int | None
) -> str:
    """Record a hardware bag that came with the job; return its label."""
    text = " ".join(contents.split())
    if not text:
        raise Refused(Message("Enter what is in the bag."), key="contents")
    if len(text) > LONGEST_CONTENTS:
        raise Refused(
            Message("Use at most {most} characters.", most=LONGEST_CONTENTS), key="contents"
        )

    job = checkable(lock_job(session, job_id))
    taken = session.scalars(sa.select(HardwareBag.label).where(HardwareBag.job_id == job_id))
    last = max((int(label[1:]) for label in taken), default=0)
    label = f"B{last + 1}"
    session.add(HardwareBag(job_id=job_id, label=label, contents=text))
    record_event(session, job, EventVerb.BAG, at=unit.now(), who=who, note=f"{label}: {text}")
    return label


@transactional
def drop_bag(
    unit: UnitOfWork, session: Session, job_id: int, label: str, *, who: int | None
) -> None:
    """Remove a bag that was recorded by mistake, as long as the job is not ready."""
    job = checkable(lock_job(session, job_id))
    bag = session.scalar(
        sa.select(HardwareBag).where(HardwareBag.job_id == job_id, HardwareBag.label == label)
    )
    if bag is None:
        raise Unknown(Message("This job has no bag {label}.", label=label))
    record_event(
        session, job, EventVerb.BAG_OFF, at=unit.now(), who=who, note=f"{label}: {bag.contents}"
    )
    session.delete(bag)


def bags_counted(session: Session, job_id: int) -> list[HardwareBag]:
    """Return the bags that must be there: all but those that the customer goes on without."""
    given_up = sa.select(Finding.id).where(
        Finding.job_id == job_id, Finding.answer == FindingAnswer.ACCEPTED
    )
    gone = set(session.scalars(given_up))
    return [one for one in bags_of(session, job_id) if one.present or one.finding_id not in gone]


def bags_of(session: Session, job_id: int) -> list[HardwareBag]:
    """Return the bags of a job in the order in which they were recorded."""
    query = sa.select(HardwareBag).where(HardwareBag.job_id == job_id).order_by(HardwareBag.id)
    return list(session.scalars(query))
