"""Jobs that are late, or will be, and the station that causes it."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.orders.planning.stored_floor import simulated_at
from portal.shop.moves import AHEAD, JobState
from portal.shop.route import PartStage
from portal.store.jobs import Customer, JobForecast
from portal.store.tables import Job


@dataclass(frozen=True, slots=True)
class LateLine:
    """An open job whose forecast has passed its promise; `stage` is what holds it up.

    `told_at` is the later date that its customer was told.
    """

    code: str
    name: str
    summary: Message
    state: JobState
    promise_at: datetime
    forecast_at: datetime
    stage: PartStage | None
    told_at: datetime | None
    overdue: bool

    @property
    def hours(self) -> int:
        """How many hours the forecast is behind the promise."""
        return int((self.forecast_at - self.promise_at).total_seconds() // 3600)


@dataclass(frozen=True, slots=True)
class Lateness:
    """The late jobs, how many each station delays, and when the forecast was made."""

    lines: tuple[LateLine, ...]
    by_station: tuple[tuple[PartStage | None, int], ...]
    open_jobs: int
    made_at: datetime | None

    @property
    def overdue(self) -> tuple[LateLine, ...]:
        """The jobs whose promise has passed."""
        return tuple(line for line in self.lines if line.overdue)

    @property
    def to_come(self) -> tuple[LateLine, ...]:
        """The jobs that will miss a promise that has not passed yet."""
        return tuple(line for line in self.lines if not line.overdue)


@read_only
def late_jobs(unit: UnitOfWork, session: Session) -> Lateness:
    """Return the open jobs that will miss their promise, the worst first."""
    now = unit.now()
    behind = sa.func.coalesce(JobForecast.safe_at, Job.promise_at)
    rows = session.execute(
        sa.select(
            Job.code,
            Customer.name,
            Job.summary,
            Job.state,
            Job.promise_at,
            behind,
            JobForecast.station,
            JobForecast.told_at,
        )
        .join(Job.customer)
        .outerjoin(Job.forecast)
        .where(Job.state.in_(AHEAD))
        .where(sa.or_(JobForecast.safe_at > Job.promise_at, Job.promise_at < now))
        .order_by(Job.promise_at)
    ).all()
    query = sa.select(sa.func.count()).select_from(Job).where(Job.state.in_(AHEAD))
    count = session.scalars(query).one()
    lines = [
        LateLine(
            *(code, name, summary, state, promise, max(forecast, promise), station, told),
            promise < now,
        )
        for code, name, summary, state, promise, forecast, station, told in rows
    ]
    lines.sort(key=lambda one: one.forecast_at - one.promise_at, reverse=True)
    counts = Counter(line.stage for line in lines)
    return Lateness(tuple(lines), tuple(counts.most_common()), count, simulated_at(session))
