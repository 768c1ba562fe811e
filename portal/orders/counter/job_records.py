"""What is kept beside the parts of a job: bags, photos, events."""

from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.event_words import EVENT, Event, event_clause
from portal.shop.states import FindingAnswer, PhotoPurpose
from portal.store.drafts import Photo
from portal.store.jobs import Finding, HardwareBag, Part
from portal.store.moves import Move
from portal.store.people import Person

MOST_EVENTS = 60


@dataclass(frozen=True, slots=True)
class BagView:
    """A hardware bag; `given_up` is one that is lost, and that the customer goes on without."""

    label: str
    contents: str
    present: bool
    given_up: bool


@dataclass(frozen=True, slots=True)
class PhotoView:
    """A photo of the parts before work: the customer's own, or ours on arrival.

    `number` is that of the part, 0 where it shows several; `set_key` stands on a customer's own.
    """

    token: str
    number: int
    set_key: str


@dataclass(frozen=True, slots=True)
class EventView:
    """One event of a job, told as a clause."""

    at: datetime
    says: Message


# built once: building a statement costs more than running it
_BAGS = (
    sa.select(HardwareBag.label, HardwareBag.contents, HardwareBag.present, Finding.answer)
    .outerjoin(Finding, Finding.id == HardwareBag.finding_id)
    .where(HardwareBag.job_id == sa.bindparam("job_id"))
    .order_by(HardwareBag.id)
)
_PHOTOS = (
    sa.select(Photo.token, Part.number, Photo.set_key)
    .outerjoin(Part, Part.id == Photo.part_id)
    .where(Photo.job_id == sa.bindparam("job_id"), Photo.purpose == sa.bindparam("purpose"))
    .order_by(Photo.id)
)
_EVENTS = (
    sa.select(Move.at, Person.name, Part.number, *EVENT)
    .outerjoin(Person, Person.id == Move.person_id)
    .outerjoin(Part, Part.id == Move.part_id)
    .where(Move.job_id == sa.bindparam("job_id"))
    .order_by(Move.id.desc())
    .limit(MOST_EVENTS)
)


def bags_of(session: Session, job_id: int) -> tuple[BagView, ...]:
    """Return the hardware bags of a job, the oldest first."""
    rows = session.execute(_BAGS, {"job_id": job_id})
    return tuple(
        BagView(label, contents, present, answer is FindingAnswer.ACCEPTED)
        for label, contents, present, answer in rows
    )


def photos_of(session: Session, job_id: int, purpose: PhotoPurpose) -> tuple[PhotoView, ...]:
    """Return the photos of a job that were taken for a purpose."""
    rows = session.execute(_PHOTOS, {"job_id": job_id, "purpose": purpose}).all()
    return tuple(PhotoView(token, number or 0, key) for token, number, key in rows)


def events_of(session: Session, job_id: int) -> tuple[EventView, ...]:
    """Return the last events of a job, the newest first."""
    rows = session.execute(_EVENTS, {"job_id": job_id}).all()
    return tuple(
        EventView(at, event_clause(Event(*event), who, number)) for at, who, number, *event in rows
    )
