"""The record of finished parts: what was done to them, with which powder, how thick, how hot.

It names nobody, so that it can be handed on with the parts: by a link of its own, which lives as
long as the works keeps the job.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.customer.inspection_view import InspectionSheet, Measured, sheet_of
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_links import NO_LINK, behind, must_be_done
from portal.orders.kernel.job_lock import lock_job, record_event
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.codes import new_token
from portal.shop.moves import JobState
from portal.shop.verbs import EventVerb
from portal.store.floor import OvenLoadBatch, OvenLoadPart
from portal.store.tables import Customer, Job, Part

VERB = "record_link"
NOT_YET = Message("The record of your parts is here once they are done.")
_JOB = (
    *(Job.id, Job.token, Job.code, Job.state, Job.summary, Job.declared, Job.vehicle),
    *(Job.ready_at, Job.handed_back_at, Job.record_token, Customer.name, Customer.units),
)


@dataclass(frozen=True, slots=True)
class PartRecord:
    """One part as it was measured, and the batches of its powders as (powder, batch)."""

    measured: Measured
    batches: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PartsRecord:
    """The record of one job. `record_token` is that of its own link, "" while there is none."""

    token: str
    sheet: InspectionSheet
    parts: tuple[PartRecord, ...]
    done_at: datetime | None
    record_token: str


@read_only
def record_behind(unit: UnitOfWork, session: Session, token: str) -> PartsRecord:
    """Return the record behind a customer's link; Unknown before the parts are done."""
    job = behind(session, token, unit.now(), *_JOB)
    must_be_done(job.state, NOT_YET)
    return _record(unit, session, job)


@read_only
def record_handed_on(unit: UnitOfWork, session: Session, record_token: str) -> PartsRecord:
    """Return the record behind a link of its own; Unknown where there is none."""
    query = sa.select(*_JOB).join(Job.customer).where(Job.record_token == record_token.upper())
    job = session.execute(query).first()
    if job is None or not job.state.is_done:
        raise Unknown(NO_LINK)
    # who has the record has not the customer's link
    return replace(_record(unit, session, job), token="")


@transactional
def make_record_link(unit: UnitOfWork, session: Session, token: str, *, once_token: str) -> None:
    """Give a record a link of its own; there is never more than one."""
    found: Job = behind(session, token, unit.now(), Job)[0]
    _make(unit, session, lock_job(session, found.id), once_token=once_token)


@idempotent(VERB)
def _make(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    *,
    once_token: str,  # taken by the decorator
) -> None:
    if not JobState(job.state).is_done:
        raise Refused(NOT_YET)
    if job.record_token is None:
        job.record_token = new_token(unit.random_bytes)
        record_event(session, job, EventVerb.RECORD_LINK, at=unit.now(), who=None)


def _record(unit: UnitOfWork, session: Session, job: Any) -> PartsRecord:
    sheet = sheet_of(unit, session, job)
    named = replace(
        sheet,
        token="",
        customer="",
        vehicle="",
        parts=tuple(replace(one, by="", tag="") for one in sheet.parts),
        checks=tuple(replace(one, by="") for one in sheet.checks),
    )
    batches = _batches(session, job.id)
    return PartsRecord(
        token=job.token,
        sheet=named,
        parts=tuple(PartRecord(one, _own(one, batches)) for one in named.parts),
        done_at=job.handed_back_at or job.ready_at,
        record_token=job.record_token or "",
    )


def _batches(session: Session, job_id: int) -> Sequence[Any]:
    """Return number of the part, code of the powder and batch, in the order of the loads."""
    query = (
        sa.select(Part.number, OvenLoadBatch.powder_code, OvenLoadBatch.batch)
        .join(OvenLoadPart, OvenLoadPart.part_id == Part.id)
        .join(OvenLoadBatch, OvenLoadBatch.load_id == OvenLoadPart.load_id)
        .where(Part.job_id == job_id, OvenLoadBatch.batch != "")
        .order_by(OvenLoadBatch.load_id)
    )
    return session.execute(query).all()


def _own(one: Measured, rows: Sequence[Any]) -> tuple[tuple[str, str], ...]:
    """Return the batches of the powders that this part got: its loads held others' too."""
    names = {coat.powder_code: coat.powder_name for coat in one.card.coats}
    found = [
        (names[row.powder_code], row.batch)
        for row in rows
        if row.number == one.number and row.powder_code in names
    ]
    return tuple(dict.fromkeys(found))
