"""What the status page reads: statements built once, because building costs more than running."""

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.customer.findings_view import FINDING
from portal.orders.kernel.job_links import OWES
from portal.orders.kernel.ledger import BALANCE
from portal.orders.kernel.wording import LEFT_OPEN
from portal.shop.rail import Away, PartMove, Travelled
from portal.shop.states import PhotoPurpose, RunState, ThreadKind
from portal.shop.verbs import MOVES_OF_PARTS
from portal.store.floor import StripRun, StripRunPart
from portal.store.jobs import JobForecast
from portal.store.tables import Customer, Finding, Job, Move, Part, Photo, TakenOff, Thread

_LAST = sa.select(sa.func.max(Move.id)).where(Move.job_id == Job.id).scalar_subquery()
_TAKEN_OFF = (
    sa.select(sa.func.count()).where(TakenOff.job_id == Job.id).correlate(Job).scalar_subquery()
)
_WRITTEN = sa.exists().where(Thread.job_id == Job.id, Thread.kind == ThreadKind.QUESTION)
_COLUMNS = (
    Job.id,
    _LAST.label("last"),
    _WRITTEN.label("written"),
    _TAKEN_OFF.label("taken_off"),
    Job.token,
    Job.code,
    Job.state,
    Job.summary,
    Job.declared,
    *BALANCE,
    LEFT_OPEN,
    OWES,
    Job.pickup_code,
    Job.pickup_at,
    Job.booked_at,
    Job.dropoff_at,
    Job.dropoff_until,
    Job.promise_at,
    Job.promised_first_at,
    Job.expected_at,
    Job.expected_unless,
    JobForecast.told_at,
    JobForecast.early_from,
    Job.received_at,
    Job.ready_at,
    Job.handed_back_at,
    Job.link_until,
    Customer.units,
)
_PART = (
    Part.id,
    Part.number,
    Part.stage,
    Part.coats,
    Part.coats_done,
    Part.needs_strip,
    Part.needs_refit,
    Part.reworks,
    Part.arrived,
    Part.set_key,
    Part.tag,
    Part.stamp,
    Part.corner,
    Part.job_id,
    Part.work,
)
_MOVE = (Move.part_id, Move.verb, Move.from_, Move.to, Move.at)
# one statement for the job and its findings: most jobs have none
JOB_QUERY = (
    sa.select(*_COLUMNS, *FINDING)
    .join(Job.customer)
    .outerjoin(Job.forecast)
    .outerjoin(Finding, Finding.job_id == Job.id)
    .outerjoin(Photo, Photo.id == Finding.photo_id)
    .where(Job.token == sa.bindparam("token"))
    .order_by(Finding.id)
)
# a part is in one run at a time that is not back
_RUN = sa.join(StripRunPart, StripRun, StripRun.id == StripRunPart.run_id)
_IN_RUN = sa.and_(
    StripRunPart.part_id == Part.id,
    StripRunPart.counted_back.is_(False),
    StripRun.state != RunState.BACK,
)
PART_QUERY = (
    sa.select(*_PART, StripRun.leaves_on, StripRun.back_on, StripRun.state.label("run"))
    .outerjoin(_RUN, _IN_RUN)
    .where(Part.job_id == sa.bindparam("job"))
    .order_by(Part.number)
)
_PHOTO_QUERY = (
    sa.select(Photo.token)
    .where(Photo.job_id == sa.bindparam("job"), Photo.purpose == PhotoPurpose.INSPECTION)
    .order_by(Photo.id)
)
_MOVE_QUERY = (
    sa.select(*_MOVE)
    .where(
        Move.job_id == sa.bindparam("job"),
        Move.part_id.is_not(None),
        Move.verb.in_(MOVES_OF_PARTS),
    )
    .order_by(Move.id)
)


def photos_of(session: Session, job_id: int) -> tuple[str, ...]:
    """Return the photos of the finished parts; one statement more, once they are done."""
    return tuple(session.scalars(_PHOTO_QUERY, {"job": job_id}))


def travelled_of(rows: Sequence[Any]) -> tuple[Travelled, ...]:
    return tuple(
        Travelled(
            part_id=row.id,
            stage=row.stage,
            coats=row.coats,
            coats_done=row.coats_done,
            strip=row.needs_strip,
            refit=row.needs_refit,
            reworks=row.reworks,
            away=_away_of(row),
        )
        for row in rows
    )


def _away_of(row: Any) -> Away | None:
    if row.run is None:
        return None
    return Away(row.leaves_on, row.back_on, left=row.run is RunState.AWAY)


def moves_of(session: Session, job_id: int) -> tuple[PartMove, ...]:
    rows = session.execute(_MOVE_QUERY, {"job": job_id})
    return tuple(PartMove(row.part_id, row.verb, row.from_, row.to, row.at) for row in rows)
