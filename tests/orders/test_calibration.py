"""What the shop's own events tell of its stations and promises, and that forecasts go by it."""

from datetime import UTC, datetime, timedelta

import pytest
import sqlalchemy as sa

from portal.orders.kernel.transitions import move_job, move_part, undo
from portal.orders.planning.calibration import (
    LASTS,
    Learned,
    stations_now,
    what_is_learned,
)
from portal.orders.planning.forecasting import read_floor, reforecast_all
from portal.orders.production import floor, strip_runs
from portal.shop.calendar.working_minutes import working_time
from portal.shop.faults import Fault
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.floor import StripRun
from portal.store.tables import Job, JobForecast, OvenLoad, OvenLoadPart, Part
from tests.factories import WHEELS, Booked, a_booked_job, a_job_at

FRIDAY = datetime(2026, 6, 5, 14, 0, tzinfo=UTC)
PAIR = {**WHEELS, "count": 2}
PREP, BLAST, COAT, CURE, INSPECT = (
    PartStage.PREP,
    PartStage.BLAST,
    PartStage.COAT,
    PartStage.CURE,
    PartStage.INSPECT,
)


def station(learned: Learned, key: PartStage):
    return next(one for one in learned.stations if one.written.key is key)


def blasted(unit, clock, pace: float, *, jobs: int = 23) -> list[Booked]:
    """Pairs of wheels that all wait for the blaster on a Friday, and leave one after the other."""
    clock.set(FRIDAY)
    booked = [a_booked_job(unit, PAIR) for _ in range(jobs)]
    part_ids = [number for job in booked for number in job.part_ids]

    def work(session) -> datetime:
        shop = unit.shop(session)
        line = working_time(shop.week, FRIDAY.date(), 60)
        at = line.at(FRIDAY)
        session.execute(sa.update(Job).values(state=JobState.IN_WORK, received_at=FRIDAY))
        for number in part_ids:
            move_part(session, number, to=PREP, at=FRIDAY, who=None)
            move_part(session, number, to=BLAST, at=FRIDAY, who=None)
        for number in part_ids:
            minutes = session.get(Part, number).work["blast"]
            at += pace * minutes
            move_part(session, number, to=COAT, at=line.moment(at), who=None)
        return line.moment(at)

    clock.set(unit.write(work) + timedelta(minutes=5))
    return booked


# stations


def test_without_events_everything_is_as_written(unit, clock):
    learned = what_is_learned(unit)
    assert [one.pace.visits for one in learned.stations] == [0] * 6
    assert all(one.really is None and one.usual is None for one in learned.stations)
    assert learned.in_force() == learned.written
    assert (learned.promises.of, learned.promises.percent) == (0, None)


def test_the_blaster_is_learned_across_nights_and_a_weekend_and_nothing_else_is(unit, clock):
    blasted(unit, clock, 1.3)
    assert clock.now() - FRIDAY > timedelta(days=2)  # a weekend lay between
    learned = what_is_learned(unit)
    blast = station(learned, BLAST)
    assert blast.pace.counts
    assert blast.pace.visits >= 20
    assert blast.pace.ratio == pytest.approx(1.3, rel=0.03)
    assert blast.really == pytest.approx(blast.usual * blast.pace.ratio)
    # all left prep at the same moment, so nobody can tell what that took
    assert not station(learned, PREP).pace.counts
    force = learned.in_force()
    assert force[BLAST].pace == pytest.approx(blast.written.pace * blast.pace.ratio)
    assert force[PREP] == learned.written[PREP]
    assert force[COAT] == learned.written[COAT]


def test_the_forecast_goes_by_what_was_learned(unit, clock):
    blasted(unit, clock, 1.3)
    with unit.read() as session:
        learned = stations_now(session, unit.shop(session), unit.now())
        assert read_floor(unit, session).make().stations == learned
    assert learned[BLAST].pace > 1.25
    reforecast_all(unit)
    with unit.read() as session:
        slow = session.scalar(sa.select(sa.func.max(JobForecast.likely_at)))
    assert slow is not None


def test_what_was_learned_lasts_an_hour(unit, clock):
    def pace_of_blast() -> float:
        with unit.read() as session:
            return stations_now(session, unit.shop(session), unit.now())[BLAST].pace

    clock.set(FRIDAY)
    assert pace_of_blast() == 1.0
    blasted(unit, clock, 1.3)
    assert pace_of_blast() > 1.25
    unit.write(lambda s: s.execute(sa.update(Part).values(work={**_work(s), "blast": 1.0})))
    assert 1.25 < pace_of_blast() < 1.35
    clock.advance(minutes=LASTS.total_seconds() / 60)
    assert pace_of_blast() > 2.4  # the bound, nearly


def _work(session) -> dict:
    return session.scalar(sa.select(Part.work).limit(1))


def test_a_move_that_was_taken_back_is_no_departure(unit, clock):
    job = a_job_at(unit, BLAST, PAIR)
    first, second = job.part_ids
    clock.advance(minutes=20)
    floor.move_on(unit, (first,), to=COAT, who=None)
    clock.advance(minutes=20)
    floor.move_on(unit, (second,), to=COAT, who=None)
    assert station(what_is_learned(unit), BLAST).pace.all_visits == 1
    clock.advance(seconds=5)
    unit.write(lambda session: undo(session, second, at=unit.now(), who=None))
    assert station(what_is_learned(unit), BLAST).pace.all_visits == 0


def test_the_wait_for_a_customer_is_nobodys_work(unit, clock):
    blasted(unit, clock, 1.0, jobs=4)
    before = station(what_is_learned(unit), BLAST).pace.all_visits
    with unit.read() as session:
        held = session.scalar(sa.select(sa.func.max(Job.id)))
    waited = FRIDAY + timedelta(minutes=30)

    def wait(session) -> None:
        move_job(session, held, "wait", at=waited, who=None)
        move_job(session, held, "start", at=waited + timedelta(minutes=5), who=None)

    unit.write(wait)
    assert station(what_is_learned(unit), BLAST).pace.all_visits == before - 1


def test_an_oven_load_is_timed_but_not_across_a_night(unit, clock):
    job = a_job_at(unit, CURE, PAIR)
    morning = FRIDAY.replace(hour=8)

    def load(session, start: datetime, minutes: float) -> None:
        closed = start + timedelta(minutes=minutes)
        made = OvenLoad(set_point_c=200, minutes=20, started_at=start, closed_at=closed)
        session.add(made)
        session.flush()
        session.add_all(
            OvenLoadPart(load_id=made.id, part_id=number, coat=1) for number in job.part_ids
        )

    def expected(session) -> float:
        hold = session.get(Part, job.part_ids[0]).work["cures"][0][1]
        return unit.shop(session).stations.oven.heat_up + hold

    def work(session) -> None:
        for n in range(24):
            load(session, morning + timedelta(days=7 * n), 1.2 * expected(session))
        load(session, morning + timedelta(days=7 * 24, hours=8), 14 * 60)

    unit.write(work)
    clock.set(morning + timedelta(days=7 * 25))
    cure = station(what_is_learned(unit), CURE)
    assert cure.pace.all_visits <= 24
    assert cure.pace.all_visits >= 20  # bank holidays and such aside
    assert cure.pace.ratio == pytest.approx(1.2, rel=0.04)
    with unit.read() as session:
        assert cure.usual == pytest.approx(expected(session))


def test_the_rework_rate_is_counted_at_inspection(unit, clock):
    job = a_job_at(unit, INSPECT)
    first, *_ = job.part_ids
    clock.advance(minutes=10)
    floor.rework(unit, first, Fault.RUN, who=None)
    learned = what_is_learned(unit)
    assert (learned.rework.times, learned.rework.of) == (1, 1)
    assert not learned.rework.counts
    assert learned.in_force().rework_rate == learned.written.rework_rate


def test_late_strip_runs_are_counted_by_their_first_part_back(unit, clock):
    job = a_job_at(unit, PartStage.STRIP, {**PAIR, "layers": ["factory_paint"]})
    leaves, due = clock.now().date(), clock.now().date() + timedelta(days=2)

    def sent(back_on) -> int:
        run = strip_runs.open_run(unit, leaves, back_on, who=None)
        for tag in ("101", "102"):
            strip_runs.gather(unit, run, tag, who=None)
        strip_runs.send(unit, run, who=None)
        return run

    def late() -> tuple[int, int]:
        found = what_is_learned(unit).late_runs
        return found.times, found.of

    run = sent(due)
    assert late() == (0, 0)  # not due yet
    clock.advance(days=2)
    strip_runs.count_back(unit, run, "101", who=None)
    clock.advance(days=6)
    strip_runs.count_back(unit, run, "102", who=None)  # a tag that turned up behind a shelf
    assert late() == (0, 1)
    assert job.part_ids


def test_a_strip_run_that_is_away_past_its_day_is_late(unit, clock):
    a_job_at(unit, PartStage.STRIP, {**PAIR, "layers": ["factory_paint"]})
    due = clock.now().date() + timedelta(days=2)
    run = strip_runs.open_run(unit, clock.now().date(), due, who=None)
    strip_runs.gather(unit, run, "101", who=None)
    strip_runs.send(unit, run, who=None)
    clock.advance(days=3)
    found = what_is_learned(unit)
    assert (found.late_runs.times, found.late_runs.of) == (1, 1)
    # one of one says little: five in a hundred were written, and that is worth fifty runs
    assert found.late_runs.share == pytest.approx((0.05 * 50 + 1) / 51)
    assert found.in_force().strip_late_rate == found.written.strip_late_rate
    unit.write(lambda session: _more_late_runs(session, clock.now()))
    found = what_is_learned(unit)
    assert (found.late_runs.of, found.late_runs.counts) == (25, True)
    assert found.in_force().strip_late_rate == found.late_runs.share


def _more_late_runs(session, now) -> None:
    for n in range(24):
        sent = now - timedelta(days=60 + n)
        run = StripRun(leaves_on=sent.date(), back_on=sent.date(), state="away", sent_at=sent)
        session.add(run)
