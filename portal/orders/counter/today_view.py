"""Today in one look: what comes, what goes out and what is in its way, who waits, what is owed.

Everything is read in a fixed number of queries, however many jobs are open.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter.day_jobs import MOST, DayJob, day_jobs
from portal.orders.counter.lists_view import ListRow, row_of, rows_with
from portal.orders.kernel.ledger import owed_by, taken_since
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.production.due_view import DueLoad, DueRun, loads_due, runs_due
from portal.shop.calendar.week import Week
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.shop.states import PaymentMethod
from portal.shop.verbs import EventVerb
from portal.store.jobs import Job
from portal.store.moves import Move

NOT_BROUGHT_SHOWN = timedelta(days=21)
# no works is closed for longer
MOST_DAYS = 60
CHANGES_BY_LINK = (
    EventVerb.RESCHEDULE,
    EventVerb.CALL_OFF,
    EventVerb.FINISH,
    EventVerb.HAND_OVER,
)


@dataclass(frozen=True, slots=True)
class Coming:
    """The drop-offs: late ones, those still to come, those that came, the next open day's."""

    late: tuple[DayJob, ...]
    to_come: tuple[DayJob, ...]
    came: tuple[DayJob, ...]
    next_day: tuple[DayJob, ...]
    not_brought: tuple[DayJob, ...]

    @property
    def expected(self) -> tuple[DayJob, ...]:
        """Who is still expected today, the late ones first."""
        return (*self.late, *self.to_come)


@dataclass(frozen=True, slots=True)
class GoingOut:
    """The promises: those that have passed, today's, the next open day's; how many went out."""

    overdue: tuple[DayJob, ...]
    today: tuple[DayJob, ...]
    next_day: tuple[DayJob, ...]
    collected: int

    @property
    def due(self) -> tuple[DayJob, ...]:
        """What should go out today, the overdue first."""
        return (*self.overdue, *self.today)


@dataclass(frozen=True, slots=True)
class Waits:
    """What waits for somebody: an answer of the customer, a start of ours, a pickup."""

    answer: tuple[DayJob, ...]
    start: tuple[DayJob, ...]
    shelf: int
    shelf_since: datetime | None


@dataclass(frozen=True, slots=True)
class ByTheLink:
    """What a customer changed through the link; `credit` goes back.

    The drop-off was moved, or called off; the finish is another one; or something that was to come
    off is left to us: `note`.
    """

    at: datetime
    verb: EventVerb
    row: ListRow
    note: Message | None = None

    @property
    def credit(self) -> Money:
        """What is to be given back of what was paid."""
        return self.row.balance.credit


@dataclass(frozen=True, slots=True)
class MoneyToday:
    """What was taken today, each way of payment; what ready jobs owe, and what collected ones."""

    taken: tuple[tuple[PaymentMethod, Money], ...]
    on_shelf: Money
    gone: Money
    gone_jobs: int

    @property
    def total(self) -> Money:
        """What was taken today in all."""
        return Money(sum(one.minor for _, one in self.taken), self.on_shelf.currency)


@dataclass(frozen=True, slots=True)
class Today:
    """The day at `now`; `opens` and `closes` span its hours, None on a day that is closed.

    `next_day` is the next day on which the shop is open.
    """

    now: datetime
    day: date
    next_day: date
    shut: Message | None
    opens: datetime | None
    closes: datetime | None
    coming: Coming
    out: GoingOut
    waits: Waits
    changed: tuple[ByTheLink, ...]
    loads: tuple[DueLoad, ...]
    runs: tuple[DueRun, ...]
    money: MoneyToday


@read_only
def today(unit: UnitOfWork, session: Session) -> Today:
    """Return the day as it stands."""
    shop = unit.shop(session)
    week, now = shop.week, unit.now()
    day = week.local(now).date()
    next_day = _next_open(week, day)
    begins, ends = (week.moment(one, time.min) for one in (day, day + timedelta(days=1)))
    jobs = day_jobs(
        session, _of_the_day(begins, week.moment(next_day + timedelta(days=1), time.min), now)
    )

    def on(at: Callable[[DayJob], datetime], which: date) -> list[DayJob]:
        return [one for one in jobs if week.local(at(one)).date() == which]

    hours = _hours(week, day)
    return Today(
        now=now,
        day=day,
        next_day=next_day,
        shut=week.shut_because(day),
        opens=hours[0] if hours else None,
        closes=hours[1] if hours else None,
        coming=_coming(jobs, on, (now, begins, day, next_day)),
        out=_going_out(session, jobs, on, (now, begins, day, next_day)),
        waits=_waits(session, jobs),
        changed=_changed(session, week.moment(_last_open(week, day), time.min)),
        loads=loads_due(unit, session, begins, ends),
        runs=runs_due(session, week, day, now),
        money=_money(session, begins, shop.currency),
    )


Sifted = Callable[[Callable[[DayJob], datetime], date], list[DayJob]]
Moments = tuple[datetime, datetime, date, date]


def _of_the_day(begins: datetime, until: datetime, now: datetime) -> sa.ColumnElement[bool]:
    """Return which jobs the page has to know; `until` is the end of the next open day."""
    return sa.or_(
        sa.and_(Job.state == JobState.BOOKED, Job.dropoff_at < until),
        Job.state.in_((JobState.RECEIVED, JobState.WAITING)),
        sa.and_(
            Job.state == JobState.IN_WORK,
            sa.or_(Job.promise_at < until, Job.received_at >= begins),
        ),
        sa.and_(Job.state == JobState.READY, Job.promise_at >= begins, Job.promise_at < until),
        sa.and_(Job.state == JobState.NOT_BROUGHT, Job.dropoff_at > now - NOT_BROUGHT_SHOWN),
    )


def _coming(jobs: Sequence[DayJob], on: Sifted, when: Moments) -> Coming:
    now, begins, day, next_day = when
    booked = [one for one in jobs if one.row.state is JobState.BOOKED]
    late = [one for one in booked if one.row.dropoff_until < now]
    today_ = [one for one in on(_dropoff, day) if one.row.state is JobState.BOOKED]
    came = [one for one in jobs if one.received_at and one.received_at >= begins]
    return Coming(
        late=_by(_dropoff, late),
        to_come=_by(_dropoff, [one for one in today_ if one not in late]),
        came=_by(_dropoff, came),
        next_day=_by(
            _dropoff, [one for one in on(_dropoff, next_day) if one.row.state is JobState.BOOKED]
        ),
        not_brought=_by(_dropoff, [one for one in jobs if one.row.state is JobState.NOT_BROUGHT]),
    )


def _going_out(session: Session, jobs: Sequence[DayJob], on: Sifted, when: Moments) -> GoingOut:
    now, begins, day, next_day = when
    overdue = [one for one in jobs if one.row.state.is_in_house and one.row.promise_at < now]
    leaving = [one for one in on(_promise, day) if _goes_out(one) and one not in overdue]
    collected = sa.select(sa.func.count()).select_from(Job)
    return GoingOut(
        overdue=_by(_promise, overdue),
        today=_by(_promise, leaving),
        next_day=_by(_promise, [one for one in on(_promise, next_day) if _goes_out(one)]),
        collected=session.scalar(collected.where(Job.handed_back_at >= begins)) or 0,
    )


def _goes_out(one: DayJob) -> bool:
    return one.row.state.is_in_house or one.row.state is JobState.READY


def _waits(session: Session, jobs: Sequence[DayJob]) -> Waits:
    count, since = session.execute(
        sa.select(sa.func.count(), sa.func.min(Job.ready_at)).where(Job.state == JobState.READY)
    ).one()
    waiting = [one for one in jobs if one.row.state is JobState.WAITING]
    return Waits(
        answer=_by(lambda one: one.asked_at or one.row.dropoff_at, waiting),
        start=_by(_promise, [one for one in jobs if one.row.state is JobState.RECEIVED]),
        shelf=count,
        shelf_since=since,
    )


def _changed(session: Session, since: datetime) -> tuple[ByTheLink, ...]:
    """Return what customers changed since a moment, the last change of each job."""
    last = sa.select(sa.func.max(Move.id)).where(
        Move.verb.in_(CHANGES_BY_LINK),
        Move.person_id.is_(None),
        Move.at >= since,
    )
    query = rows_with(
        Move.at.label("at"), Move.verb.label("verb"), Move.says.label("left_to_us")
    ).join(Move, Move.job_id == Job.id)
    rows = session.execute(
        query.where(Move.id.in_(last.group_by(Move.job_id))).order_by(Move.id.desc()).limit(MOST)
    )
    return tuple(ByTheLink(row.at, row.verb, row_of(row), row.left_to_us) for row in rows)


def _money(session: Session, begins: datetime, currency: str) -> MoneyToday:
    by_way = taken_since(session, begins)
    left = owed_by(session, (JobState.READY, JobState.HANDED_BACK))
    gone = left[JobState.HANDED_BACK]
    return MoneyToday(
        taken=tuple((how, Money(by_way[how], currency)) for how in PaymentMethod if how in by_way),
        on_shelf=Money(sum(left[JobState.READY]), currency),
        gone=Money(sum(gone), currency),
        gone_jobs=len(gone),
    )


def _next_open(week: Week, day: date) -> date:
    later = (day + timedelta(days=n) for n in range(1, MOST_DAYS))
    return next((one for one in later if week.is_open(one)), day + timedelta(days=1))


def _last_open(week: Week, day: date) -> date:
    earlier = (day - timedelta(days=n) for n in range(1, MOST_DAYS))
    return next((one for one in earlier if week.is_open(one)), day - timedelta(days=1))


def _hours(week: Week, day: date) -> tuple[datetime, datetime] | None:
    """Return from when to when anything is open on a day."""
    spans = [
        span
        for hours in (week.work, week.pickup, week.drop_off)
        for span in week.work_hours(day, hours)
    ]
    return (min(span[0] for span in spans), max(span[1] for span in spans)) if spans else None


def _by(key: Callable[[DayJob], datetime], jobs: Iterable[DayJob]) -> tuple[DayJob, ...]:
    return tuple(sorted(jobs, key=lambda one: (key(one), one.job_id)))


def _dropoff(one: DayJob) -> datetime:
    return one.row.dropoff_at


def _promise(one: DayJob) -> datetime:
    return one.row.promise_at
