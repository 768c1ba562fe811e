"""A firm's own jobs, and what its front page tells of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter.lists_view import ListRow, row_of, rows_with
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.firms import FirmCredit, credit_of
from portal.orders.kernel.job_links import must_be_open
from portal.orders.kernel.job_search import OPEN, terms_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.trade.lists import list_of
from portal.shop.codes import normalise, printed_link
from portal.shop.moves import JobState
from portal.store.tables import Job, Part

MOST = 200
NO_JOB = Message("We can't find this job among yours.")


@dataclass(frozen=True, slots=True)
class OwnJob:
    """One job of a firm; `token` opens its page, "" once its link is over."""

    row: ListRow
    token: str
    parts: int


@dataclass(frozen=True, slots=True)
class FrontView:
    """What a firm wants to know first."""

    ready: tuple[OwnJob, ...]
    in_house: tuple[OwnJob, ...]
    coming: tuple[OwnJob, ...]
    asked: tuple[OwnJob, ...]
    credit: FirmCredit


@dataclass(frozen=True, slots=True)
class SlipLine:
    """One set on the sheet that goes along with the parts; `link` is what its QR symbol holds."""

    job: OwnJob
    link: str


@read_only
def front(unit: UnitOfWork, session: Session, firm_id: int) -> FrontView:
    """Return what is ready, what is here, what is still to come, and what is owed."""
    jobs = _jobs(unit, session, firm_id, Job.state.in_(OPEN))

    def those(*states: JobState) -> tuple[OwnJob, ...]:
        return tuple(one for one in jobs if one.row.state in states)

    currency = unit.shop(session).currency
    return FrontView(
        ready=those(JobState.READY),
        in_house=those(JobState.RECEIVED, JobState.IN_WORK),
        coming=those(JobState.BOOKED, JobState.NOT_BROUGHT),
        asked=those(JobState.WAITING),
        credit=credit_of(session, firm_id, currency),
    )


@read_only
def jobs(
    unit: UnitOfWork, session: Session, firm_id: int, typed: str = "", *, every: bool = False
) -> tuple[OwnJob, ...]:
    """Return a firm's jobs, those that are ready soonest first; `every` has the closed ones too.

    `typed` may be a code, or words of the reference or the colour.
    """
    terms = terms_of(typed)
    which: list[sa.ColumnElement[bool]] = []
    if not every and not terms:
        which.append(Job.state.in_(OPEN))
    which += [Job.search.contains(term, autoescape=True) for term in terms]
    return _jobs(unit, session, firm_id, *which, newest=every or bool(terms))


@read_only
def own_job(unit: UnitOfWork, session: Session, firm_id: int, code: str) -> OwnJob:
    """Return a job of the firm by its code; Unknown for anybody else's."""
    found = _jobs(unit, session, firm_id, Job.code == normalise(code[:20]))
    if not found:
        raise Unknown(NO_JOB)
    return found[0]


@read_only
def slips(unit: UnitOfWork, session: Session, firm_id: int, list_id: int) -> tuple[SlipLine, ...]:
    """Return what goes along with the parts of a list that was booked."""
    row = list_of(session, firm_id, list_id)
    codes = [str(one["code"]) for one in row.rows if one.get("code")]
    found = _jobs(unit, session, firm_id, Job.code.in_(codes))
    by_code = {one.row.code: one for one in found}
    lines = [by_code[code] for code in codes if code in by_code]
    return tuple(SlipLine(one, printed_link(unit.base_url, one.token)) for one in lines)


def _jobs(
    unit: UnitOfWork,
    session: Session,
    firm_id: int,
    *which: sa.ColumnElement[bool],
    newest: bool = False,
) -> tuple[OwnJob, ...]:
    query = (
        rows_with(Job.id, Job.token, Job.link_until)
        .where(Job.firm_id == firm_id, *which)
        .order_by(Job.promise_at.desc() if newest else Job.promise_at, Job.id)
        .limit(MOST)
    )
    rows = session.execute(query).all()
    parts = _parts(session, [row.id for row in rows])
    now = unit.now()
    return tuple(OwnJob(row_of(row), _open_token(row, now), parts.get(row.id, 0)) for row in rows)


def _open_token(row: Any, now: datetime) -> str:
    try:
        must_be_open(row.link_until, now)
    except Unknown:
        return ""
    return str(row.token)


def _parts(session: Session, job_ids: Sequence[int]) -> dict[int, int]:
    counted = (
        sa.select(Part.job_id, sa.func.count().label("number"))
        .where(Part.job_id.in_(job_ids))
        .group_by(Part.job_id)
    )
    return {row.job_id: row.number for row in session.execute(counted)}
