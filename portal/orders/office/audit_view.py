"""The log: what the office changed, and every event of every job, in one list."""

from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.craft.parts import Titled
from portal.orders.kernel.event_words import EVENT, Event
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.office.log_sentences import job_said, office_said
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Audit, Job, Move, Part, Person

A_PAGE = 100
WORDS: dict[str, Titled] = {str(one): one for kind in (PartStage, JobState) for one in kind}


@dataclass(frozen=True, slots=True)
class AuditEntry:
    """One thing that somebody did; `code` names the job where there is one."""

    at: datetime
    by: str
    verb: str
    what: str
    code: str
    says: Message
    came_from: Titled | None = None
    went_to: Titled | None = None


@read_only
def audit_entries(
    unit: UnitOfWork,
    session: Session,
    *,
    person_id: int | None = None,
    until: datetime | None = None,
) -> tuple[AuditEntry, ...]:
    """Return a page of entries, the newest first, done before `until`."""
    limit = until or unit.now()
    office = session.execute(
        sa.select(Audit.at, Person.name, Audit.verb, Audit.what)
        .outerjoin(Person, Person.id == Audit.person_id)
        .where(Audit.at <= limit, *_of(Audit.person_id, person_id))
        .order_by(Audit.at.desc(), Audit.id.desc())
        .limit(A_PAGE)
    ).all()
    floor = session.execute(
        sa.select(
            Move.at,
            Person.name,
            Move.from_,
            Move.to,
            Part.number,
            Job.code,
            Job.currency,
            *EVENT,
        )
        .join(Job, Job.id == Move.job_id)
        .outerjoin(Part, Part.id == Move.part_id)
        .outerjoin(Person, Person.id == Move.person_id)
        .where(Move.at <= limit, *_of(Move.person_id, person_id))
        .order_by(Move.at.desc(), Move.id.desc())
        .limit(A_PAGE)
    ).all()
    found = [
        AuditEntry(at, by or "", verb, what, "", office_said(verb, who=by or "", what=what))
        for at, by, verb, what in office
    ]
    for at, by, from_, to, part, code, currency, *rest in floor:
        event = Event(*rest)
        was, now = (WORDS.get(from_), WORDS.get(to)) if from_ != to else (None, None)
        says = job_said(event, who=by or "", part=part, moved=(was, now), currency=currency)
        found.append(AuditEntry(at, by or "", event.verb, event.note, code, says, was, now))
    found.sort(key=lambda one: one.at, reverse=True)
    return tuple(found[:A_PAGE])


def _of(
    column: sa.orm.InstrumentedAttribute[int | None], person_id: int | None
) -> tuple[sa.ColumnElement[bool], ...]:
    return () if person_id is None else (column == person_id,)
