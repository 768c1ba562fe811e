"""The log: what the office changed, and every event of every job, in one list."""

from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.event_words import EVENT, Event
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.office.log_sentences import job_said, office_said
from portal.shop.codes import normalise
from portal.store.tables import Audit, Job, Move, Part, Person

A_PAGE = 100


@dataclass(frozen=True, slots=True)
class AuditEntry:
    """One thing that somebody did; `code` names the job where there is one."""

    at: datetime
    by: str
    verb: str
    code: str
    says: Message


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which entries are asked for: of a person, of a job by its code, between two moments."""

    person_id: int | None = None
    code: str = ""
    since: datetime | None = None
    until: datetime | None = None


@read_only
def audit_entries(
    unit: UnitOfWork, session: Session, wanted: Wanted = Wanted()
) -> tuple[AuditEntry, ...]:
    """Return a page of entries, the newest first; raise Unknown for a code that no job has."""
    limit = wanted.until or unit.now()
    found = [*_events(session, wanted, limit)]
    if not wanted.code:
        # what the office does is not about one job
        found += _office(session, wanted, limit)
    found.sort(key=lambda one: one.at, reverse=True)
    return tuple(found[:A_PAGE])


def _events(session: Session, wanted: Wanted, limit: datetime) -> list[AuditEntry]:
    conditions = _between(Move.at, wanted.since, limit) + _of(Move.person_id, wanted.person_id)
    if wanted.code:
        conditions += (Move.job_id == _job_id(session, wanted.code),)
    query = (
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
        .where(*conditions)
        .order_by(Move.at.desc(), Move.id.desc())
        .limit(A_PAGE)
    )
    found = []
    for at, by, from_, to, part, code, currency, *rest in session.execute(query):
        event = Event(*rest)
        was, now = (from_, to) if from_ != to else (None, None)
        says = job_said(event, who=by or "", part=part, moved=(was, now), currency=currency)
        found.append(AuditEntry(at, by or "", event.verb, code, says))
    return found


def _office(session: Session, wanted: Wanted, limit: datetime) -> list[AuditEntry]:
    conditions = _between(Audit.at, wanted.since, limit) + _of(Audit.person_id, wanted.person_id)
    query = (
        sa.select(Audit.at, Person.name, Audit.verb, Audit.what, Audit.says)
        .outerjoin(Person, Person.id == Audit.person_id)
        .where(*conditions)
        .order_by(Audit.at.desc(), Audit.id.desc())
        .limit(A_PAGE)
    )
    return [
        AuditEntry(at, by or "", verb, "", office_said(verb, who=by or "", what=says or what))
        for at, by, verb, what, says in session.execute(query)
    ]


def _job_id(session: Session, typed: str) -> int:
    code = normalise(typed)
    found = session.scalar(sa.select(Job.id).where(Job.code == code))
    if found is None:
        raise Unknown(Message("There is no job with the code {code}.", code=typed), key="job")
    return found


def _between(
    column: sa.orm.InstrumentedAttribute[datetime], since: datetime | None, limit: datetime
) -> tuple[sa.ColumnElement[bool], ...]:
    return (column <= limit,) if since is None else (column <= limit, column >= since)


def _of(
    column: sa.orm.InstrumentedAttribute[int | None], person_id: int | None
) -> tuple[sa.ColumnElement[bool], ...]:
    return () if person_id is None else (column == person_id,)
