"""A job as the counter sees it, and its log."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.corners import MOST_IN_A_ROW, Corner, counts, rows_of, twice
from portal.craft.messages import Message
from portal.craft.parts import Bringing, Damage, PartKind, PartSet, Usage
from portal.craft.refit import told_at_hand_back
from portal.craft.registration import Country
from portal.orders.counter.accepted import Accepted, accepted_in
from portal.orders.counter.checks_view import CheckGroup, groups_of
from portal.orders.counter.findings_view import (
    StaffFindingView,
    StaffQuestion,
    findings_of,
    question_of,
)
from portal.orders.counter.job_records import (
    BagView,
    EventView,
    PhotoView,
    bags_of,
    events_of,
    photos_of,
)
from portal.orders.counter.lists_view import ListRow, row_of, rows_with
from portal.orders.intake.asked_view import AskedQuestion, asked_of_job
from portal.orders.kernel.checks import lines_on
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.job_lock import (
    NOT_HERE,
    NOT_WORKED_ON,
    last_event,
    load_part,
)
from portal.orders.kernel.job_order import declared_of, stored_order
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.notes import NoteView, notes_of
from portal.orders.kernel.threads import Talk, talks_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.kernel.work_card import Card, read_card
from portal.shop.ledger import Account
from portal.shop.pricing.differences import DifferenceKind
from portal.shop.route import PartPlan, PartStage
from portal.shop.states import (
    Arrival,
    PhotoPurpose,
    TellBy,
)
from portal.store.jobs import Customer, Job, Part

# built once: building a statement costs more than running it
_JOB = rows_with(
    *(Job.id, Job.token, Customer.phone, Customer.email, Customer.tell_by, Job.collector),
    *(Job.may_fetch, Job.pickup_at),
    *(Job.declared, Job.assessed, Job.quote, Job.shelf, Job.needed_by),
).where(Job.code == sa.bindparam("code"))
_PARTS = (
    sa.select(
        *(Part.id, Part.job_id, Part.number, Part.set_key, Part.label, Part.stage, Part.tag),
        *(Part.stamp, Part.corner, Part.arrived, Part.reworks, Part.needs_strip, Part.coats),
        *(Part.needs_refit, Part.work),
    )
    .where(Part.job_id == sa.bindparam("job_id"))
    .order_by(Part.number)
)


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
class JobView:
    """A whole job for the counter; a form on it names `last_event_id` when it is sent."""

    id: int
    row: ListRow
    token: str
    phone: str
    email: str
    tell_by: TellBy
    collector: str
    may_fetch: str
    pickup_at: datetime | None
    last_event_id: int
    bringing: Bringing | None
    fetched: bool
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
    notes: tuple[NoteView, ...] = ()
    shelf: str = ""
    needed_by: date | None = None
    question: StaffQuestion | None = None
    talks: tuple[Talk, ...] = ()

    @property
    def bags_to_count(self) -> tuple[BagView, ...]:
        """The bags that must be there at the hand-back."""
        return tuple(one for one in self.bags if not one.given_up)

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

    def corner_twice(self, one: PartSet) -> tuple[tuple[Corner, tuple[int, ...]], ...]:
        """Return the places at which too many wheels of a set are noted, with their numbers."""
        noted = {part.number: part.corner for part in self.parts_of(one.key) if part.here}
        return twice(noted) if one.kind is PartKind.WHEEL else ()

    @property
    def corners_open(self) -> bool:
        """Whether somebody still has to note where wheels sat."""
        return any(self.corner_open(one) for one in self.sets)

    @property
    def usual_corners(self) -> tuple[Corner, ...]:
        """The usual order in which the only wheels of the job stand, while none is noted."""
        own = [one for one in self.sets if self.corner_open(one)]
        fresh = len(own) == 1 and all(part.corner is None for part in self.parts_of(own[0].key))
        rows = self.corner_rows(own[0]) if fresh else ()
        return rows[0] if len(rows) == 1 and len(rows[0]) <= MOST_IN_A_ROW else ()

    @property
    def not_ordered(self) -> frozenset[int]:
        """The parts that came beside those of the order and that nobody has agreed to yet."""
        more = [one for one in self.findings if one.kind == DifferenceKind.MORE]
        return frozenset(n for one in more if one.answer != "accepted" for n in one.numbers)

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
def job_view(unit: UnitOfWork, session: Session, code: str) -> JobView:
    """Return one job for the counter; Unknown when no job has this code."""
    row = session.execute(_JOB, {"code": code.upper()}).first()
    if row is None:
        raise Unknown(Message("No job has the code {code}.", code=code[:20]))
    order = stored_order(row)
    declared = order.declared if order else declared_of(row)
    parts = session.execute(_PARTS, {"job_id": row.id}).all()
    return JobView(
        id=row.id,
        row=row_of(row),
        token=row.token,
        phone=row.phone,
        email=row.email,
        tell_by=row.tell_by,
        collector=row.collector,
        may_fetch=row.may_fetch,
        pickup_at=row.pickup_at,
        last_event_id=last_event(session, row.id),
        bringing=declared.bringing,
        fetched=declared.fetched,
        usage=declared.usage,
        sets=declared.sets,
        parts=_part_views(parts),
        bags=bags_of(session, row.id),
        declared_photos=photos_of(session, row.id, PhotoPurpose.DECLARED),
        arrival_photos=photos_of(session, row.id, PhotoPurpose.ARRIVAL),
        findings=findings_of(session, row.id, row.currency),
        account=account_of(session, row.id),
        events=events_of(session, row.id),
        questions=asked_of_job(session, row.id),
        accepted=accepted_in(order) if order else (),
        checks=groups_of(lines_on(session, parts)),
        told_at_hand_back=told_at_hand_back(declared),
        registered=declared.registered,
        notes=notes_of(session, [row.id]).get(row.id, ()),
        shelf=row.shelf,
        needed_by=row.needed_by,
        question=question_of(unit, session, row.id),
        talks=talks_of(session, row.id),
    )


@read_only
def code_of_part(_unit: UnitOfWork, session: Session, part_id: int) -> str:
    """Return the code of the job that a part belongs to."""
    return session.get_one(Job, load_part(session, part_id).job_id).code


def _part_views(rows: Iterable[Any]) -> tuple[PartView, ...]:
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
        for row in rows
    )
