"""The status page: columns of one job, its parts and their moves, in four statements.

No full name, telephone, e-mail, vehicle or staff note: a reader has nothing but the link.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.answers import RefitStep
from portal.craft.corners import Wheel
from portal.craft.messages import Message
from portal.craft.parts import PartSet
from portal.craft.preparing import count_of
from portal.craft.quantities import UnitSystem
from portal.craft.refit import guide_for, handbook_for
from portal.orders.counter.customer_changes import change_until
from portal.orders.counter.finish_by_link import finish_open
from portal.orders.counter.unfetched import kept_until
from portal.orders.customer.checks_told import CheckTold, checks_told
from portal.orders.customer.findings_view import (
    FindingsQuestion,
    FindingView,
    findings_of,
    question_of,
    waited_until,
)
from portal.orders.customer.pickup_days import PickupDay, pickup_days
from portal.orders.customer.status_rows import (
    JOB_QUERY,
    PART_QUERY,
    moves_of,
    photos_of,
    travelled_of,
)
from portal.orders.kernel.checks import lines_on
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.job_links import NO_LINK, behind, must_be_open
from portal.orders.kernel.job_lock import NOT_HERE, NOT_WORKED_ON
from portal.orders.kernel.job_order import declared_of, quote_of
from portal.orders.kernel.ledger import account_of, balance_of
from portal.orders.kernel.refit_guide import wheels_among
from portal.orders.kernel.threads import Talk, talks_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.kernel.work_card import CHECKS
from portal.shop.calendar.closures import is_shut_at, reason_told
from portal.shop.codes import shown
from portal.shop.invoicing.pay_ways import pays_from_home
from portal.shop.job_dates import JobDates
from portal.shop.ledger import Account, Balance
from portal.shop.moves import JobState
from portal.shop.pricing.quote import Quote
from portal.shop.pricing.statements import PriceStatement, date_of_job, price_of_job
from portal.shop.rail import Dates, PartMove, Stop, rail
from portal.shop.shop import Shop
from portal.store.tables import Job

HOURS_STEP = 600  # seconds
# what these pages tell ends with an hour: today's hours, and until when a drop-off can be changed
STEPS = (JobState.READY, JobState.BOOKED)

Standing = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class StatusPage:
    """One job as its customer sees it. `pickup_code` is filled while the job is ready.

    The page shows it to who knows the telephone alone. `pickup_at` is when the customer means to
    come, `kept_until` how long ready parts are kept, `link_until` when the link ends; `photos` are
    the tokens of those that we took of the finished parts.
    `tasks` are the items that the customer takes off before coming, `tasks_done` those ticked.

    `wheels` are those whose corner is known; until `change_until` the drop-off can be changed here.
    `finish_open` tells whether colour or finish of some parts can.
    `missed` tells that the parts were not brought in time; until `waited_until` work waited for an
    answer that took long.
    """

    token: str
    code: str
    state: JobState
    summary: Message
    parts: int
    picture: PartSet | None
    colour_open: bool
    finish_open: bool
    stops: tuple[Stop, ...]
    dropoff_at: datetime
    dropoff_until: datetime
    change_until: datetime | None
    missed: bool
    promise_at: datetime
    promised_first_at: datetime
    dates: JobDates
    handed_back_at: datetime | None
    overdue: bool
    waited_until: datetime | None
    balance: Balance
    price: PriceStatement
    pickup_code: str
    pickup: tuple[PickupDay, ...]
    pickup_at: datetime | None
    kept_until: datetime | None
    link_until: datetime | None
    photos: tuple[str, ...]
    findings: tuple[FindingView, ...]
    question: FindingsQuestion | None
    checks: tuple[CheckTold, ...]
    wheels: tuple[Wheel, ...]
    refit: tuple[RefitStep, ...]
    handbook: Message | None
    talk: Talk | None
    tasks: int
    tasks_done: int
    units: UnitSystem | None
    shop: Shop

    @property
    def open_findings(self) -> tuple[FindingView, ...]:
        """The findings that wait for an answer."""
        return tuple(one for one in self.findings if one.open)

    @property
    def coming(self) -> bool:
        """Whether the parts are still to be brought."""
        return self.state.is_expected

    @property
    def over(self) -> bool:
        """Whether nothing more will be done."""
        return self.state.is_off

    @property
    def shut(self) -> bool:
        """Whether the works is closed when the parts were to be brought."""
        week = self.shop.week
        booked = self.state is JobState.BOOKED
        return booked and is_shut_at(week, week.drop_off, self.dropoff_at)

    @property
    def shut_because(self) -> Message | None:
        """What the works says of that closure."""
        return reason_told(self.shop.week, self.dropoff_at)

    @property
    def moved_by_closure(self) -> bool:
        """Whether the first promise fell on a day that is closed now."""
        week = self.shop.week
        return self.moved and is_shut_at(week, week.pickup, self.promised_first_at)

    @property
    def late(self) -> bool:
        """Whether the parts will be ready later than promised, as the customer was told."""
        return self.dates.now_by is not None or self.overdue

    @property
    def pays_from_home(self) -> bool:
        """Whether something is to be paid, and the shop tells how to do so from home."""
        owed = self.balance.to_pay.minor > 0 and not self.balance.monthly
        due = owed and (self.state.is_in_house or self.state.is_done)
        return due and pays_from_home(self.shop.invoicing)

    @property
    def moved(self) -> bool:
        """Whether the promise is later than the one that was given first."""
        return self.promise_at > self.promised_first_at


@dataclass(frozen=True, slots=True)
class Beside:
    """What was photographed at the inspection, and what was asked; each asks one statement."""

    photos: tuple[str, ...]
    talk: Talk | None


def _beside(session: Session, job: Any) -> Beside:
    return Beside(
        photos_of(session, job.id) if job.state.is_done else (),
        talks_of(session, job.id)[0] if job.written else None,
    )


def status(
    unit: UnitOfWork, token: str, known: Callable[[Standing], bool] | None = None
) -> StatusPage | None:
    """Return the status page behind a link, or None when the reader has it cached already.

    `known` gets everything that the page depends on, and saves two statements and the rest of the
    work. Raise Unknown for an invalid or expired link.
    """
    now = unit.now()
    with unit.read() as session:
        # all that a cached page costs: columns alone, without what the ORM does for objects
        rows = session.connection().execute(JOB_QUERY, {"token": token.upper()}).all()
        if not rows:
            raise Unknown(NO_LINK)
        job = rows[0]
        must_be_open(job.link_until, now, owes_minor=job.owes_minor)
        shop = unit.shop(session)
        if known is not None and known(_standing(rows, shop, now)):
            return None
        every = session.execute(PART_QUERY, {"job": job.id}).all()
        moves = moves_of(session, job.id) if job.received_at is not None else ()
        checks = () if job.state.is_off else _checks(session, every)
        beside = _beside(session, job)
    return _status_page(rows, every, moves, checks, beside, shop, now)


def _status_page(
    rows: Sequence[Any],
    every: Sequence[Any],
    moves: tuple[PartMove, ...],
    checks: tuple[CheckTold, ...],
    beside: Beside,
    shop: Shop,
    now: datetime,
) -> StatusPage:
    job, in_production = rows[0], [row for row in every if row.arrived not in NOT_WORKED_ON]
    parts = travelled_of(in_production)
    declared = declared_of(job)
    to_coat = {row.set_key for row in in_production}
    ready, home = job.state is JobState.READY, job.state is JobState.HANDED_BACK
    wheels, findings = wheels_among(every, declared), findings_of(rows)
    return StatusPage(
        token=job.token,
        code=shown(job.code),
        state=job.state,
        summary=job.summary,
        parts=sum(row.arrived not in NOT_HERE for row in every),
        picture=next((one for one in declared.sets if one.key in to_coat), None),
        colour_open=any(one.colour_open and one.key in to_coat for one in declared.sets),
        finish_open=finish_open(shop, job.state, declared, in_production),
        stops=() if job.state.is_off else rail(job.state, parts, moves, _dates(job)),
        dropoff_at=job.dropoff_at,
        dropoff_until=job.dropoff_until,
        change_until=change_until(shop, job, now),
        missed=job.state.is_expected and now >= job.dropoff_until,
        promise_at=job.promise_at,
        promised_first_at=job.promised_first_at,
        dates=_job_dates(job),
        handed_back_at=job.handed_back_at,
        overdue=_job_dates(job).overdue(now),
        waited_until=waited_until(findings, job.promise_at),
        balance=balance_of(job),
        price=price_of_job(balance_of(job).total, job.left_open, job.state),
        pickup_code=job.pickup_code if ready else "",
        pickup=pickup_days(shop, now) if ready else (),
        pickup_at=job.pickup_at if ready else None,
        kept_until=kept_until(shop.keeping, job.ready_at) if ready and job.ready_at else None,
        link_until=job.link_until,
        photos=beside.photos,
        findings=findings,
        question=question_of(rows, {part.number for part in in_production}, shop.week),
        checks=tuple(one for one in checks if one.done or not job.state.is_done),
        wheels=tuple(one for one in wheels if one.known),
        refit=guide_for(declared, wheels) if home else (),
        handbook=handbook_for(declared),
        talk=beside.talk,
        tasks=count_of(declared) if job.state.is_expected else 0,
        tasks_done=job.taken_off,
        units=job.units,
        shop=shop,
    )


@read_only
def price_of(
    unit: UnitOfWork, session: Session, token: str
) -> tuple[Quote | None, tuple[PartSet, ...], Account]:
    """Return the price of a job, line by line, its sets and account; Unknown for no link."""
    job = behind(session, token, unit.now(), Job.id, Job.quote, Job.declared)
    return (quote_of(job), declared_of(job).sets, account_of(session, job.id))


def _standing(rows: Sequence[Any], shop: Shop, now: datetime) -> Standing:
    """Everything that a page shows hangs on these; every change of a part leaves a move."""
    job = rows[0]
    # they leave the page when they are over, give or take the step
    step = int(now.timestamp()) // HOURS_STEP if job.state in STEPS else 0
    findings = tuple((row.finding, row.answer) for row in rows)
    return (
        *(job.last, job.state, job.total_minor, job.owed_minor, job.promise_at),
        *(job.told_at, job.early_from, _job_dates(job).overdue(now)),
        *(job.dropoff_at, findings, step, shop, job.taken_off),
    )


@read_only
def code_behind(_unit: UnitOfWork, session: Session, token: str) -> str:
    """Return the job's code for staff who scanned the link; raise Unknown when there is none."""
    code = session.scalar(sa.select(Job.code).where(Job.token == token.upper()))
    if code is None:
        raise Unknown(NO_LINK)
    return code


def _checks(session: Session, rows: Sequence[Any]) -> tuple[CheckTold, ...]:
    """Return the checks of these parts; one statement more, where there are some."""
    if all(row.work.get(CHECKS) == [] for row in rows):
        return ()
    return checks_told(lines_on(session, rows))


def _dates(job: Any) -> Dates:
    return Dates(
        booked_at=job.booked_at,
        dropoff_at=job.dropoff_at,
        received_at=job.received_at,
        ready_at=job.ready_at,
        handed_back_at=job.handed_back_at,
    )


def _job_dates(job: Any) -> JobDates:
    said = date_of_job(job.promise_at, job.expected_at, job.expected_unless, job.state)
    return JobDates(job.state, said, job.told_at, job.early_from)
