"""A job as the counter sees it, and its log."""

from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.corners import Corner, counts, rows_of
from portal.craft.messages import Message
from portal.craft.parts import Bringing, Damage, PartSet, Usage
from portal.craft.refit import told_at_hand_back
from portal.craft.registration import Country
from portal.orders.counter.checks_view import CheckGroup, groups_of
from portal.orders.counter.findings_view import StaffFindingView, findings_of
from portal.orders.counter.lists_view import ListRow, row_of, rows_with
from portal.orders.intake.asked_view import AskedQuestion, asked_of_job
from portal.orders.kernel.accepted import Accepted, accepted_in
from portal.orders.kernel.checks import lines_of
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.event_words import EVENT, Event, event_clause
from portal.orders.kernel.job_lock import (
    NOT_HERE,
    NOT_WORKED_ON,
    last_event,
    load_part,
)
from portal.orders.kernel.job_order import declared_of, told_order
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.kernel.work_card import Card, read_card
from portal.shop.ledger import Account
from portal.shop.route import PartPlan, PartStage
from portal.shop.states import (
    Arrival,
    PhotoPurpose,
    TellBy,
)
from portal.store.drafts import Photo
from portal.store.jobs import Customer, HardwareBag, Job, Part
from portal.store.moves import Move
from portal.store.people import Person

MOST_EVENTS = 60


@dataclass(frozen=True, slots=True)
class PartView:
    """One part of a job as the counter sees it."""

    id: int
    number: int
    set_key: str
    label: Message
    stage: PartStage
    tag: str
    stamp: str
    corner: Corner | None
    arrived: Arrival
    reworks: int
    plan: PartPlan
    card: Card

    @property
    def here(self) -> bool:
        """Whether the shop has it."""
        return self.arrived not in NOT_HERE

    @property
    def lost(self) -> bool:
        """Whether it came and was written off."""
        return self.arrived is Arrival.LOST

    @property
    def checked(self) -> bool:
        """Whether somebody has checked it."""
        return self.arrived is not Arrival.UNCHECKED

    @property
    def differs(self) -> bool:
        """Whether a finding was raised about it."""
        return self.arrived is Arrival.DIFFERS


@dataclass(frozen=True, slots=True)
class BagView:
    """A hardware bag."""

    label: str
    contents: str
    present: bool


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


@dataclass(frozen=True, slots=True)
class JobView:
    """A whole job for the counter; a form on it names `last_event_id` when it is sent."""

    id: int
    row: ListRow
    token: str
    phone: str
    email: str
    tell_by: TellBy
    collector: str
    last_event_id: int
    bringing: Bringing | None
    usage: Usage | None
    sets: tuple[PartSet, ...]
    parts: tuple[PartView, ...]
    bags: tuple[BagView, ...]
    declared_photos: tuple[PhotoView, ...]
    arrival_photos: tuple[PhotoView, ...]
    findings: tuple[StaffFindingView, ...]
    account: Account
    events: tuple[EventView, ...]
    questions: tuple[AskedQuestion, ...]
    accepted: tuple[Accepted, ...]
    checks: tuple[CheckGroup, ...]
    told_at_hand_back: Message | None = None
    registered: Country | None = None

    def parts_of(self, set_key: str) -> tuple[PartView, ...]:
        """Return the parts of one set."""
        return tuple(part for part in self.parts if part.set_key == set_key)

    def damage_of(self, part: PartView) -> tuple[Damage, ...]:
        """What was declared of one part: its own damage, else that of its set."""
        if part.card.damage is not None:
            return part.card.damage
        return next((one.damage for one in self.sets if one.key == part.set_key), ())

    def corner_open(self, one: PartSet) -> bool:
        """Whether somebody still has to note where wheels of a set sat."""
        own = [part for part in self.parts_of(one.key) if part.here]
        return counts(one, self.bringing) and any(part.corner is None for part in own)

    def corner_rows(self, one: PartSet) -> tuple[tuple[Corner, ...], ...]:
        """Return the orders in which the wheels of a set that are here can stand."""
        return rows_of(sum(part.here for part in self.parts_of(one.key)))

    @property
    def here(self) -> tuple[PartView, ...]:
        """The parts that the shop has."""
        return tuple(part for part in self.parts if part.here)

    @property
    def open_findings(self) -> tuple[StaffFindingView, ...]:
        """The findings that wait for an answer."""
        return tuple(one for one in self.findings if one.open)

    @property
    def stops_the_start(self) -> bool:
        """Whether a test comes before all work and its result is not there."""
        return any(line.stops and one.before is None for one in self.checks for line in one.lines)

    @property
    def colour_open(self) -> bool:
        """Whether the customer still has to choose a colour from the samples."""
        return any(self.waits_for_colour(one) for one in self.sets)

    def waits_for_colour(self, one: PartSet) -> bool:
        """Whether the colour of a set is open that has parts to be coated."""
        own = self.parts_of(one.key)
        return one.colour_open and any(part.arrived not in NOT_WORKED_ON for part in own)

    @property
    def through(self) -> bool:
        """Whether every part that is worked on is done."""
        own = [part for part in self.here if part.arrived is not Arrival.TURNED_AWAY]
        return bool(own) and all(part.stage is PartStage.DONE for part in own)

    @property
    def untagged(self) -> int:
        """How many parts still need a tag."""
        return sum(not part.tag for part in self.here)

    @property
    def unchecked(self) -> int:
        """How many parts nobody has checked yet."""
        return sum(not part.checked for part in self.parts)

    def accepted_of(self, set_key: str) -> tuple[Accepted, ...]:
        """Return what must be seen at the door of the parts of a set."""
        return tuple(one for one in self.accepted if one.at_door and set_key in one.set_keys)


@read_only
def job_view(_unit: UnitOfWork, session: Session, code: str) -> JobView:
    """Return one job for the counter; Unknown when no job has this code."""
    who = (Customer.phone, Customer.email, Customer.tell_by, Customer.collector)
    told = (Job.declared, Job.assessed, Job.quote)
    query = rows_with(Job.id, Job.token, *who, *told).where(Job.code == code.upper())
    row = session.execute(query).first()
    if row is None:
        raise Unknown(Message("No job has the code {code}.", code=code[:20]))
    order = told_order(row)
    declared = order.declared if order else declared_of(row)
    return JobView(
        id=row.id,
        row=row_of(row),
        token=row.token,
        phone=row.phone,
        email=row.email,
        tell_by=row.tell_by,
        collector=row.collector,
        last_event_id=last_event(session, row.id),
        bringing=declared.bringing,
        usage=declared.usage,
        sets=declared.sets,
        parts=_parts(session, row.id),
        bags=_bags(session, row.id),
        declared_photos=_photos(session, row.id, PhotoPurpose.DECLARED),
        arrival_photos=_photos(session, row.id, PhotoPurpose.ARRIVAL),
        findings=findings_of(session, row.id, row.currency),
        account=account_of(session, row.id),
        events=_events(session, row.id),
        questions=asked_of_job(session, row.id),
        accepted=accepted_in(order) if order else (),
        checks=groups_of(lines_of(session, row.id)),
        told_at_hand_back=told_at_hand_back(declared),
        registered=declared.registered,
    )


@read_only
def code_of_part(_unit: UnitOfWork, session: Session, part_id: int) -> str:
    """Return the code of the job that a part belongs to."""
    return session.get_one(Job, load_part(session, part_id).job_id).code


def _parts(session: Session, job_id: int) -> tuple[PartView, ...]:
    query = (
        sa.select(
            Part.id,
            Part.number,
            Part.set_key,
            Part.label,
            Part.stage,
            Part.tag,
            Part.stamp,
            Part.corner,
            Part.arrived,
            Part.reworks,
            Part.needs_strip,
            Part.coats,
            Part.needs_refit,
            Part.work,
        )
        .where(Part.job_id == job_id)
        .order_by(Part.number)
    )
    return tuple(
        PartView(
            id=row.id,
            number=row.number,
            set_key=row.set_key,
            label=row.label,
            stage=row.stage,
            tag=row.tag or "",
            stamp=row.stamp,
            corner=row.corner,
            arrived=row.arrived,
            reworks=row.reworks,
            plan=PartPlan(row.needs_strip, row.coats, row.needs_refit),
            card=read_card(row.work),
        )
        for row in session.execute(query).all()
    )


def _bags(session: Session, job_id: int) -> tuple[BagView, ...]:
    query = sa.select(HardwareBag.label, HardwareBag.contents, HardwareBag.present).where(
        HardwareBag.job_id == job_id
    )
    rows = session.execute(query.order_by(HardwareBag.id)).all()
    return tuple(BagView(*row) for row in rows)


def _photos(session: Session, job_id: int, purpose: PhotoPurpose) -> tuple[PhotoView, ...]:
    query = (
        sa.select(Photo.token, Part.number, Photo.set_key)
        .outerjoin(Part, Part.id == Photo.part_id)
        .where(Photo.job_id == job_id, Photo.purpose == purpose)
    )
    rows = session.execute(query.order_by(Photo.id)).all()
    return tuple(PhotoView(token, number or 0, key) for token, number, key in rows)


def _events(session: Session, job_id: int) -> tuple[EventView, ...]:
    query = (
        sa.select(Move.at, Person.name, Part.number, *EVENT)
        .outerjoin(Person, Person.id == Move.person_id)
        .outerjoin(Part, Part.id == Move.part_id)
        .where(Move.job_id == job_id)
        .order_by(Move.id.desc())
        .limit(MOST_EVENTS)
    )
    return tuple(
        EventView(at, event_clause(Event(*event), who, number))
        for at, who, number, *event in session.execute(query).all()
    )
