"""Jobs in the lists of a day: where their parts stand, and what is in their way."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.check_kinds import CheckKind
from portal.craft.messages import Message
from portal.orders.counter.lists_view import ListRow, row_of, rows_with
from portal.orders.kernel.checks import closed_before, kinds_in, stopping
from portal.orders.kernel.job_lock import NOT_WORKED_ON
from portal.orders.kernel.ledger import balance_of
from portal.orders.kernel.work_card import CHECKS
from portal.orders.production.board_view import open_places
from portal.shop.money import Money
from portal.shop.route import PLACE, PartPlan, PartStage, next_stage
from portal.shop.states import FindingAnswer
from portal.store.jobs import Finding, Job, JobForecast, Part

MOST = 400


@dataclass(frozen=True, slots=True)
class Stand:
    """Parts of a job that stand in one place; `run` and `load` are 0 where they are in none."""

    stage: PartStage
    count: int
    run: int = 0
    load: int = 0


@dataclass(frozen=True, slots=True)
class OpenFinding:
    """An open question to the customer: what it is about, its price, since when."""

    says: Message
    amount: Money
    at: datetime


@dataclass(frozen=True, slots=True)
class DayJob:
    """A job in a list of the day.

    `tests` keep its parts out of their next station; `station` is what holds it up by the
    forecast; `again` counts parts that were sent back and are not through yet; `shelf`
    is where it lies, "" where nobody noted it.
    """

    job_id: int
    row: ListRow
    received_at: datetime | None
    deposit_due: Money
    stands: tuple[Stand, ...]
    tests: tuple[CheckKind, ...]
    again: int
    station: PartStage | None
    asked: tuple[OpenFinding, ...]
    shelf: str = ""
    tags: tuple[str, ...] = ()
    fetched: bool = False

    @property
    def asked_at(self) -> datetime | None:
        """Since when its customer has been waited for."""
        return min((one.at for one in self.asked), default=None)

    @property
    def parts(self) -> int:
        """How many parts it has."""
        return sum(one.count for one in self.stands)

    @property
    def tags_in_short(self) -> str:
        """The tags of its parts, a row of numbers as its first and last: 101–104, 120."""
        rows: list[list[int]] = []
        for number in sorted(int(one) for one in self.tags if one.isdecimal()):
            if rows and number == rows[-1][-1] + 1:
                rows[-1].append(number)
            else:
                rows.append([number])
        return ", ".join(f"{one[0]}–{one[-1]}" if len(one) > 1 else str(one[0]) for one in rows)

    @property
    def misses(self) -> datetime | None:
        """The later date that its customer was told, else a forecast past the promise."""
        late = self.row.dates.now_by or self.row.dates.will_be_late
        return late if self.row.state.is_in_house else None

    @property
    def through(self) -> bool:
        """Whether all its parts are done."""
        return bool(self.stands) and all(one.stage is PartStage.DONE for one in self.stands)


# whether the works fetches the parts and brings them back
FETCHED = Job.declared["fetched"].as_boolean().label("fetched")


class _PartRow(NamedTuple):
    """What is read of a part; `work` has its checks alone."""

    id: int
    job_id: int
    set_key: str
    stage: PartStage
    coats_done: int
    plan: PartPlan
    reworks: int
    tag: str
    work: Mapping[str, Any]


def day_jobs(session: Session, which: sa.ColumnElement[bool]) -> tuple[DayJob, ...]:
    """Return the jobs that meet a condition, the earliest drop-off first."""
    query = (
        rows_with(Job.id, Job.received_at, Job.shelf, JobForecast.station, FETCHED)
        .where(which)
        .order_by(Job.dropoff_at, Job.id)
        .limit(MOST)
    )
    rows = session.execute(query).all()
    here = [row.id for row in rows if not row.state.is_expected]
    parts = _parts(session, here)
    places = open_places(session)
    tests = _tests(session, parts)
    asked = _asked(session, [row.id for row in rows], {row.id: row.currency for row in rows})
    by_job: dict[int, list[_PartRow]] = {}
    for part in parts:
        by_job.setdefault(part.job_id, []).append(part)
    return tuple(
        DayJob(
            job_id=row.id,
            row=row_of(row),
            received_at=row.received_at,
            deposit_due=balance_of(row).deposit_due,
            stands=_stands(by_job.get(row.id, ()), places),
            tests=tests.get(row.id, ()),
            again=sum(one.reworks > 0 and not one.stage.is_over for one in by_job.get(row.id, ())),
            station=row.station,
            asked=asked.get(row.id, ()),
            shelf=row.shelf,
            tags=tuple(one.tag for one in by_job.get(row.id, ()) if one.tag),
            fetched=bool(row.fetched),
        )
        for row in rows
    )


def _parts(session: Session, job_ids: Sequence[int]) -> tuple[_PartRow, ...]:
    query = (
        sa.select(
            Part.id,
            Part.job_id,
            Part.set_key,
            Part.stage,
            Part.coats_done,
            Part.coats,
            Part.needs_strip,
            Part.needs_refit,
            Part.reworks,
            Part.tag,
            Part.work[CHECKS].label("checks"),
        )
        .where(Part.job_id.in_(job_ids), Part.arrived.not_in(NOT_WORKED_ON))
        .order_by(Part.job_id, Part.number)
    )
    return tuple(
        _PartRow(
            row.id,
            row.job_id,
            row.set_key,
            row.stage,
            row.coats_done,
            PartPlan(strip=row.needs_strip, coats=row.coats, refit=row.needs_refit),
            row.reworks,
            row.tag or "",
            {} if row.checks is None else {CHECKS: row.checks},
        )
        for row in session.execute(query)
    )


def _tests(session: Session, parts: Sequence[_PartRow]) -> dict[int, tuple[CheckKind, ...]]:
    """Return the tests that stand before the next station of a job's parts."""
    wanted = {
        one.id: kinds_in(session, one.work, one.job_id, one.set_key)
        for one in parts
        if not one.stage.is_over
    }
    open_ = stopping(session, wanted)
    found: dict[int, dict[CheckKind, None]] = {}
    for one in parts:
        to = next_stage(one.stage, one.plan, one.coats_done)
        for kind in open_.get(one.id, ()):
            if to and closed_before(kind, to):
                found.setdefault(one.job_id, {})[kind] = None
    return {job_id: tuple(kinds) for job_id, kinds in found.items()}


def _asked(
    session: Session, job_ids: Sequence[int], currencies: Mapping[int, str]
) -> dict[int, tuple[OpenFinding, ...]]:
    query = (
        sa.select(Finding.job_id, Finding.says, Finding.amount_minor, Finding.raised_at)
        .where(Finding.job_id.in_(job_ids), Finding.answer == FindingAnswer.OPEN)
        .order_by(Finding.id)
    )
    found: dict[int, list[OpenFinding]] = {}
    for row in session.execute(query):
        amount = Money(row.amount_minor, currencies[row.job_id])
        found.setdefault(row.job_id, []).append(OpenFinding(row.says, amount, row.raised_at))
    return {job_id: tuple(every) for job_id, every in found.items()}


def _stands(parts: Sequence[_PartRow], places: Mapping[int, str]) -> tuple[Stand, ...]:
    """Return where parts stand, the least advanced first."""
    counted: dict[tuple[PartStage, str], int] = {}
    for one in parts:
        key = (one.stage, places.get(one.id, ""))
        counted[key] = counted.get(key, 0) + 1
    ordered = sorted(counted.items(), key=lambda one: (PLACE[one[0][0]], one[0][1]))
    return tuple(_stand(stage, count, place) for (stage, place), count in ordered)


def _stand(stage: PartStage, count: int, place: str) -> Stand:
    kind, _, number = place.partition("-")
    return Stand(
        stage,
        count,
        run=int(number) if kind == "run" else 0,
        load=int(number) if kind == "load" else 0,
    )
