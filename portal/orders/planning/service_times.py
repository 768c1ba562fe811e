"""Working times from the events of parts and oven loads: only what they can tell.

Working times are read from changes of stage by the rules of `shop.scheduling.visits`: time in the
queue is no work, so only departures count that followed another one while the part was waiting
already, and only on the axis of the station's own working time. The oven is simpler: a load is
started and closed. Left out are an event that was undone, a stay during which the job waited for
its customer or the part was sent back for rework, and an oven load across a closing (the oven goes
on while nobody is there). The hours are the present ones.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.shop.calendar.working_minutes import WorkingTime, working_time
from portal.shop.moves import JobState
from portal.shop.route import OUTSIDE, OVEN, STATIONS, PartStage
from portal.shop.scheduling.stations import PartWork, Station, read_work
from portal.shop.scheduling.visits import Stay, Visit
from portal.shop.shop import Shop
from portal.shop.verbs import MOVES_OF_PARTS, EventVerb
from portal.store.floor import StripRun, StripRunPart
from portal.store.tables import Move, OvenLoad, OvenLoadPart, Part

LOOK_BACK = timedelta(days=365)
MOST_MOVES = 8_000  # some 280 jobs of four wheels
MOST_LOADS = 3_000  # rows of parts in them
BEFORE = 40  # days of working time before the first event, so that one of them is open
AT_WORK = tuple(stage for stage in STATIONS if stage.by_hand)
SPRAYED = tuple(stage.value for stage in STATIONS if stage.uses_powder)


def moves_of_parts(session: Session, now: datetime) -> list[Any]:
    """Return the parts' changes of stage, oldest first, without those that were taken back."""
    # reading JSON is what costs: only these rows need theirs
    keeps_data = sa.or_(Move.verb == EventVerb.UNDO, Move.from_.in_(SPRAYED))
    data = sa.case((keeps_data, Move.data), else_=sa.null()).label("data")
    query = (
        sa.select(Move.id, Move.part_id, Move.verb, Move.from_, Move.to, Move.at, data)
        .where(Move.part_id.is_not(None), Move.verb.in_(MOVES_OF_PARTS))
        .where(Move.at >= now - LOOK_BACK)
        .order_by(Move.id.desc())
        .limit(MOST_MOVES)
    )
    rows = session.execute(query).all()
    undone = {row.data.get("undoes") for row in rows if row.verb == EventVerb.UNDO}
    return [row for row in reversed(rows) if row.verb != EventVerb.UNDO and row.id not in undone]


def stays_by_station(
    session: Session, rows: Sequence[Any], shop: Shop, now: datetime
) -> dict[PartStage, list[Stay]]:
    """Return the stays at each station that waits for hands, from coming to leaving."""
    if not rows:
        return {}
    days = (rows[0].at, now)
    lines = {key: _line(shop, shop.stations[key], *days) for key in AT_WORK}
    parts = _parts(session, rows[0].id)
    waits = _waits(session, rows[0].at)
    stays: dict[PartStage, list[Stay]] = {}
    for one in _pairs(rows):
        line, part = lines.get(one.stage), parts.get(one.part_id)
        if line is None or part is None:
            continue
        job_id, set_key, work = part
        left_at = one.left_at or now
        held = any(one.came_at <= at <= left_at for at in waits.get(job_id, ()))
        minutes = work.minutes_at(one.stage, one.coats_done, shop.stations[one.stage])
        stays.setdefault(one.stage, []).append(
            Stay(
                lot=(job_id, set_key),
                came=line.at(one.came_at),
                left=math.inf if one.left_at is None else line.at(one.left_at),
                left_at=left_at,
                expected=minutes * shop.stations[one.stage].pace,
                colour=work.cure_of(one.coats_done).powder if one.stage.uses_powder else "",
                # inspection itself sends back; from anywhere else the part left undone
                undisturbed=not held and (one.verb != EventVerb.REWORK or one.stage.is_gate),
            )
        )
    return stays


@dataclass(frozen=True, slots=True)
class _Pair:
    """Coming and leaving of one part at one stage, as two events tell it."""

    part_id: int
    stage: PartStage
    came_at: datetime
    left_at: datetime | None
    verb: EventVerb
    coats_done: int


def _pairs(rows: Sequence[Any]) -> Iterator[_Pair]:
    came: dict[int, Any] = {}
    for row in rows:
        before = came.get(row.part_id)
        if before is not None and before.to == row.from_:
            done = int((row.data or {}).get("before", {}).get("coats_done", 0))
            yield _Pair(row.part_id, PartStage(row.from_), before.at, row.at, row.verb, done)
        came[row.part_id] = row
    for part_id, row in came.items():
        yield _Pair(part_id, PartStage(row.to), row.at, None, row.verb, 0)


def _line(shop: Shop, station: Station, first: datetime, now: datetime) -> WorkingTime | None:
    day = shop.week.local(first).date() - timedelta(days=BEFORE)
    days = (shop.week.local(now).date() - day).days + 2
    try:
        return working_time(shop.week, day, days, station.hours, station.down)
    except ValueError:  # nobody has worked there all that time
        return None


def _parts(session: Session, first_move: int) -> dict[int, tuple[int, str, PartWork]]:
    """Return job, set and work of the parts that moved; those of a set have the same work."""
    moved = sa.select(Move.part_id).where(Move.id >= first_move, Move.part_id.is_not(None))
    one_each = (
        sa.select(sa.func.max(Part.id))
        .where(Part.id.in_(moved))
        .group_by(Part.job_id, Part.set_key)
    )
    rows = session.execute(
        sa.select(Part.job_id, Part.set_key, Part.work).where(Part.id.in_(one_each))
    )
    works = {(row.job_id, row.set_key): read_work(row.work) for row in rows}
    every = sa.select(Part.id, Part.job_id, Part.set_key).where(Part.id.in_(moved))
    return {
        row.id: (row.job_id, row.set_key, works[row.job_id, row.set_key])
        for row in session.execute(every)
    }


def _waits(session: Session, since: datetime) -> Mapping[int, list[datetime]]:
    """Return for each job when it started or stopped waiting for its customer."""
    waiting = str(JobState.WAITING)
    query = sa.select(Move.job_id, Move.at).where(
        Move.at >= since,
        Move.part_id.is_(None),
        sa.or_(Move.from_ == waiting, Move.to == waiting),
    )
    found: dict[int, list[datetime]] = {}
    for job_id, at in session.execute(query):
        found.setdefault(job_id, []).append(at)
    return found


def oven_loads(session: Session, shop: Shop, now: datetime) -> list[Visit]:
    """Return the oven loads that ran while people were there."""
    query = (
        sa.select(
            OvenLoad.id, OvenLoad.started_at, OvenLoad.closed_at, OvenLoadPart.coat, Part.work
        )
        .join(OvenLoadPart, OvenLoadPart.load_id == OvenLoad.id)
        .join(Part, Part.id == OvenLoadPart.part_id)
        .where(OvenLoad.closed_at.is_not(None), OvenLoad.closed_at >= now - LOOK_BACK)
        .order_by(OvenLoad.id.desc())
        .limit(MOST_LOADS)
    )
    loads: dict[int, list[Any]] = {}
    for row in session.execute(query):
        loads.setdefault(row.id, []).append(row)
    if not loads:
        return []
    station, oven = shop.stations[OVEN], shop.stations.oven
    line = _line(shop, station, min(rows[0].started_at for rows in loads.values()), now)
    visits = []
    for rows in loads.values():
        start, end = rows[0].started_at, rows[0].closed_at
        took = (end - start).total_seconds() / 60
        if line is None or abs(line.at(end) - line.at(start) - took) > 1:
            continue
        holding = max(_hold(row.work, row.coat) for row in rows)
        expected = (oven.heat_up + holding) * station.pace
        visits.append(Visit(OVEN, took, expected, len(rows), end))
    return visits


def _hold(work: Mapping[str, Any], coat: int) -> float:
    read = read_work(work)
    if not coat and read.pre_bake:
        return read.pre_bake[1]
    return read.cure_of(coat - 1).minutes


def late_runs(session: Session, shop: Shop, now: datetime) -> tuple[int, int]:
    """Return how many strip runs were late, of how many that were due.

    A run is back when the first of its parts is counted in: a tag that turns up later, or a count
    that is closed days after, doesn't make it late. One that is still away after its day is late
    already.
    """
    back = (
        sa.select(sa.func.min(Move.at))
        .join(StripRunPart, StripRunPart.part_id == Move.part_id)
        .where(StripRunPart.run_id == StripRun.id, Move.at >= StripRun.sent_at)
        .where(Move.from_ == str(OUTSIDE), Move.verb == EventVerb.MOVE)
        .scalar_subquery()
    )
    today = shop.week.local(now).date()
    query = sa.select(StripRun.back_on, back.label("back")).where(
        StripRun.sent_at >= now - LOOK_BACK, sa.or_(back.is_not(None), StripRun.back_on < today)
    )
    found = [
        row.back is None or shop.week.local(row.back).date() > row.back_on
        for row in session.execute(query)
    ]
    return sum(found), len(found)
