"""What became of the shop's promises: how many held, what margins they ask for, what dates cost."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.titled import Titled
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.calendar.week import Week
from portal.shop.calendar.working_minutes import minutes_a_day, working_time
from portal.shop.moves import AHEAD
from portal.shop.route import PartStage
from portal.shop.scheduling.margins import MOST, START, Margins, PastPromise, learn_margins
from portal.shop.scheduling.promising import BELOW_AIM
from portal.shop.shop import Shop
from portal.shop.states import DocumentKind, Horizon, OrderKind
from portal.shop.verbs import EventVerb
from portal.store.tables import Job, JobForecast, Move, PromiseMade, SettingsEdition

LAST_PROMISES = 200
AFTER_WINDOW = timedelta(hours=1)  # counting in takes a while; later than this they came late
ALWAYS_DAYS = 10  # what a shop would say that gives everybody the same date; common practice
Spans = tuple[tuple[datetime, datetime], ...]


@dataclass(frozen=True, slots=True)
class KeptShare:
    """How many promises of a kind, or of a horizon, were kept."""

    what: Titled
    kept: int
    of: int

    @property
    def percent(self) -> int:
        """The share of kept ones, rounded down."""
        return 100 * self.kept // self.of


@dataclass(frozen=True, slots=True)
class DatesCost:
    """What dates cost, in working days from drop-off.

    `promised` and `needed` are means; `always_kept` of `of` orders would have been ready within
    ten days; `margin` is what was promised beyond the simulation.
    """

    promised: float
    needed: float
    margin: float
    always_kept: int
    of: int

    @property
    def saved(self) -> float:
        """How many days sooner than "always ten days" the promises were."""
        return ALWAYS_DAYS - self.promised


@dataclass(frozen=True, slots=True)
class Promises:
    """How many of the last promises were kept, and the margins of the next ones."""

    kept: int
    of: int
    margins: Margins
    aim_percent: int
    by_kind: tuple[KeptShare, ...] = ()
    by_horizon: tuple[KeptShare, ...] = ()
    cost: DatesCost | None = None

    @property
    def percent(self) -> int | None:
        """The share of kept ones, rounded down: a hundred means all of them."""
        return 100 * self.kept // self.of if self.of else None

    @property
    def reads_percent(self) -> int:
        """Which percentile of the simulated moments a promise is read at, before the margin."""
        return round(self.aim_percent - BELOW_AIM)

    @property
    def more_minutes(self) -> int:
        """How many more working minutes of margin the next promises have than a new shop's."""
        return round(self.margins.whole - START)


@dataclass(frozen=True, slots=True)
class HeldUp:
    """What would shorten the dates: where most open jobs wait, and how many of all."""

    station: PartStage
    jobs: int
    of: int


@read_only
def promises_kept(unit: UnitOfWork, session: Session) -> Promises:
    """Return what became of the last promises."""
    return promises_of(session, unit.shop(session), unit.now())


@read_only
def held_up_most(unit: UnitOfWork, session: Session) -> HeldUp | None:
    """Return the station that holds up most of the open jobs; None where nothing is foreseen."""
    query = (
        sa.select(JobForecast.station, sa.func.count().label("jobs"))
        .join(Job, Job.id == JobForecast.job_id)
        .where(Job.state.in_(AHEAD), JobForecast.station.is_not(None))
        .group_by(JobForecast.station)
        .order_by(sa.func.count().desc(), JobForecast.station)
    )
    rows = session.execute(query).all()
    return HeldUp(rows[0].station, rows[0].jobs, sum(row.jobs for row in rows)) if rows else None


def promises_of(session: Session, shop: Shop, now: datetime) -> Promises:
    """Follow the promises that have come true or broken, in the order in which it was known.

    Left out are jobs whose customer had them wait or agreed to a later date, and those brought
    later than booked: the date was not ours alone.
    """
    rows = _rows(session, now)
    last = rows[-LAST_PROMISES:]
    noted = [row for row in rows if row.foreseen_at is not None]
    minutes = _minutes_between(shop.week, noted, now)
    down = _outages(session)
    past = [
        PastPromise(
            row.kind, row.horizon, minutes(row.foreseen_at, row.ready_at or now), row.known_at
        )
        for row in noted
        if not _overlaps(down, row.dropoff_at, row.ready_at or now)
    ]
    return Promises(
        sum(row.kept for row in last),
        len(last),
        learn_margins(past, shop.promise_percent, now),
        shop.promise_percent,
        tuple(_held(OrderKind, noted, "kind")),
        tuple(_held(Horizon, noted, "horizon")),
        _cost(noted, minutes, minutes_a_day(shop.week.work)),
    )


def _rows(session: Session, now: datetime) -> list[Any]:
    """Return the last promises of which it is known what became of them, oldest first.

    The kept and the broken ones are read apart, each along an index, so that no more rows are
    read than are asked for, however many jobs there were.
    """
    kept = session.execute(
        _known(1, Job.ready_at).where(Job.ready_at <= Job.promised_first_at).limit(MOST)
    ).all()
    # a broken promise is known when its hour has passed
    broken = _known(0, Job.promised_first_at).where(
        sa.or_(
            Job.ready_at > Job.promised_first_at,
            sa.and_(Job.ready_at.is_(None), Job.promised_first_at < now, Job.state.in_(AHEAD)),
        )
    )
    if len(kept) == MOST:
        broken = broken.where(Job.promised_first_at >= kept[-1].known_at)
    both = [*kept, *session.execute(broken.limit(MOST))]
    last = sorted(both, key=lambda row: (row.known_at, row.id))[-MOST:]
    return [row for row in last if row.received_at <= row.dropoff_until + AFTER_WINDOW]


def _known(kept: int, known_at: sa.orm.InstrumentedAttribute[Any]) -> sa.Select[Any]:
    """Return the query of promises that became known at a moment, the last ones first."""
    # written into the statement, or the index of these few rows isn't used
    is_wait = Move.verb == sa.bindparam(None, EventVerb.WAIT, literal_execute=True)
    waited = sa.exists().where(Move.job_id == Job.id, is_wait)
    return (
        sa.select(
            Job.id,
            sa.literal(kept).label("kept"),
            known_at.label("known_at"),
            *(Job.received_at, Job.ready_at, Job.promised_first_at),
            *(Job.dropoff_at, Job.dropoff_until),
            *(PromiseMade.foreseen_at, PromiseMade.kind, PromiseMade.horizon),
        )
        .outerjoin(PromiseMade, PromiseMade.job_id == Job.id)
        .where(Job.promise_at == Job.promised_first_at, ~waited, Job.received_at.is_not(None))
        .order_by(known_at.desc(), Job.id.desc())
    )


def _minutes_between(
    week: Week, rows: Sequence[Any], now: datetime
) -> Callable[[datetime, datetime], float]:
    """Return what counts the working minutes from one moment to another."""
    if not rows:
        return lambda _from, _to: 0.0
    moments = [
        at for row in rows for at in (row.foreseen_at, row.dropoff_at, row.promised_first_at)
    ]
    first, last = min(moments), max(*moments, now)
    line = working_time(week, week.local(first).date(), (last - first).days + 3)
    return lambda start, end: line.at(end) - line.at(start)


def _outages(session: Session) -> Spans:
    """Return every span in which a station was declared out of order, as long as it really was.

    Who puts a station back into service early removes the span, so all editions are read.
    """
    query = sa.select(SettingsEdition.made_at, SettingsEdition.body).where(
        SettingsEdition.kind == DocumentKind.STATIONS
    )
    ended: set[tuple[datetime, datetime]] = set()
    before: set[tuple[datetime, datetime]] = set()
    for row in session.execute(query.order_by(SettingsEdition.id)):
        declared = set(_spans(row.body))
        taken_out = [(start, min(end, row.made_at)) for start, end in before - declared]
        ended |= {(start, end) for start, end in taken_out if start < end}
        before = declared
    return tuple(ended | before)


def _spans(body: Any) -> Iterator[tuple[datetime, datetime]]:
    for station in body.values():
        for span in (station.get("down") or ()) if isinstance(station, dict) else ():
            yield datetime.fromisoformat(span["from"]), datetime.fromisoformat(span["to"])


def _overlaps(spans: Spans, start: datetime, end: datetime) -> bool:
    return any(begins < end and ends > start for begins, ends in spans)


def _held(words: type[Titled], rows: Sequence[Any], name: str) -> Iterator[KeptShare]:
    for word in words:
        own = [row.kept for row in rows if getattr(row, name) is word]
        if own:
            yield KeptShare(word, sum(own), len(own))


def _cost(
    rows: Sequence[Any], minutes: Callable[[datetime, datetime], float], day: float
) -> DatesCost | None:
    ready = [row for row in rows if row.ready_at is not None]
    if not ready:
        return None
    needed = [minutes(row.dropoff_at, row.ready_at) / day for row in ready]
    return DatesCost(
        sum(minutes(row.dropoff_at, row.promised_first_at) for row in ready) / day / len(ready),
        sum(needed) / len(ready),
        sum(minutes(row.foreseen_at, row.promised_first_at) for row in ready) / day / len(ready),
        sum(one <= ALWAYS_DAYS for one in needed),
        len(ready),
    )
