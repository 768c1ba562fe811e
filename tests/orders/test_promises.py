"""What became of promises: how many held, what the next ones need, and what dates cost."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.orders.counter.appointments import appointment_view, move_appointment
from portal.orders.office.stations import start_station, stop_station
from portal.orders.planning.calibration import calibration_now
from portal.orders.planning.forecasting import reforecast_all
from portal.orders.planning.promises import AFTER_WINDOW, ALWAYS_DAYS, held_up_most, promises_kept
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.scheduling.margins import Margins
from portal.shop.states import Horizon, OrderKind
from portal.store.tables import Job, Move, PromiseMade
from tests.factories import WHEELS, a_booked_job

PAIR = {**WHEELS, "count": 2}


def finished(unit, *hours_late: float, **values) -> list[int]:
    """Jobs that were ready so many hours behind their promise, in this order."""
    numbers = [a_booked_job(unit, PAIR).job_id for _ in hours_late]

    def work(session) -> None:
        for n, (number, late) in enumerate(zip(numbers, hours_late, strict=True)):
            job = session.get(Job, number)
            job.state = JobState.READY
            job.received_at = job.dropoff_at
            job.promised_first_at = job.promise_at = job.dropoff_at + timedelta(days=3, hours=n)
            job.ready_at = job.promise_at + timedelta(hours=late)
            made = PromiseMade(job_id=number, made_at=job.booked_at)
            made.foreseen_at = job.promise_at - timedelta(hours=1)
            made.kind, made.horizon = OrderKind.FEW_PARTS, Horizon.NEAR
            session.add(made)
            for key, value in values.items():
                setattr(job, key, value)

    unit.write(work)
    return numbers


def test_promises_are_counted_and_their_reach_follows(unit, clock):
    finished(unit, -1, -2, 3, -1)
    clock.advance(days=5)
    promises = promises_kept(unit)
    assert (promises.kept, promises.of, promises.percent) == (3, 4, 75)
    (pairs,) = promises.by_kind
    assert (pairs.what, pairs.kept, pairs.of) == (OrderKind.FEW_PARTS, 3, 4)
    assert sum(one.of for one in promises.by_horizon) == 4
    # what the broken one needed is more than a new shop's margin
    assert promises.margins.of(OrderKind.FEW_PARTS, Horizon.NEAR) > Margins().whole
    with unit.read() as session:
        shop = unit.shop(session)
        assert calibration_now(session, shop, unit.now()).margins == promises.margins


def test_a_job_ready_on_the_hour_kept_its_promise(unit):
    finished(unit, 0)
    assert promises_kept(unit).kept == 1


def test_an_open_job_past_its_promise_is_a_broken_one_before_it_is_ready(unit, clock):
    numbers = finished(unit, 1)
    unit.write(
        lambda s: s.execute(
            sa.update(Job).where(Job.id.in_(numbers)).values(state=JobState.IN_WORK, ready_at=None)
        )
    )
    assert promises_kept(unit).of == 0
    clock.advance(days=4)
    promises = promises_kept(unit)
    assert (promises.kept, promises.of) == (0, 1)


def test_a_date_that_the_customer_moved_is_not_counted(unit, clock):
    later, waiting, tardy = finished(unit, 5, 5, 5)

    def work(session) -> None:
        session.get(Job, later).promise_at += timedelta(days=1)
        job = session.get(Job, tardy)
        job.received_at = job.dropoff_until + AFTER_WINDOW + timedelta(minutes=1)
        session.add(
            Move(
                job_id=waiting,
                verb="wait",
                from_="in_work",
                to="waiting",
                at=unit.now(),
            )
        )

    assert promises_kept(unit).of == 3
    unit.write(work)
    assert promises_kept(unit).of == 0


def test_another_appointment_is_another_promise(unit, clock):
    job = a_booked_job(unit, PAIR)
    clock.advance(hours=1)
    with unit.read() as session:
        code = session.get_one(Job, job.job_id).code
    view = appointment_view(unit, code)
    last = view.free[-1]
    move_appointment(
        unit,
        job.job_id,
        last.offer.start,
        agreed=last.agreement,
        expected_event_id=view.last_event_id,
        once_token="moves-once",
        who=None,
    )
    with unit.read() as session:
        made = session.get_one(PromiseMade, job.job_id)
        assert made.made_at == unit.now()
        assert made.horizon is Horizon.FURTHEST
        assert made.foreseen_at > last.offer.start


@pytest.mark.parametrize("ended_early", [False, True])
def test_what_a_declared_outage_broke_teaches_nothing(unit, clock, ended_early):
    finished(unit, *[30.0] * 12)
    clock.advance(days=5)
    before = promises_kept(unit).margins
    assert before.of(OrderKind.FEW_PARTS, Horizon.NEAR) > Margins().whole + 20

    def dropped(session):
        return session.scalars(sa.select(Job.dropoff_at)).first()

    with unit.read() as session:
        start = dropped(session)
    # declared while it lasts; put back into service the span is gone from the document
    now = clock.now()
    clock.set(start + timedelta(hours=1))
    stop_station(unit, PartStage.BLAST, start, start + timedelta(days=2), who=None)
    if ended_early:
        clock.set(start + timedelta(hours=6))
        start_station(unit, PartStage.BLAST, start, who=None)
    clock.set(now)
    after = promises_kept(unit)
    assert after.margins.promises == 0
    assert after.of == 12


def test_dates_are_compared_with_always_ten_days(unit, clock):
    finished(unit, -1, -2, 3, -1)
    clock.advance(days=5)
    cost = promises_kept(unit).cost
    assert cost.of == cost.always_kept == 4
    assert 0 < cost.needed <= ALWAYS_DAYS
    assert cost.saved == pytest.approx(ALWAYS_DAYS - cost.promised)


def test_the_station_that_holds_up_most_jobs_is_named(unit):
    assert held_up_most(unit) is None
    for _ in range(3):
        a_booked_job(unit, PAIR)
    reforecast_all(unit)
    held = held_up_most(unit)
    assert held.of == 3
    assert 1 <= held.jobs <= 3
