"""What customers are told of their date while the forecast swings, from the table to the letter."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.orders.office.stations import start_station, stop_station
from portal.orders.planning import forecasting
from portal.orders.planning.forecasting import open_jobs, reforecast_all
from portal.shop.route import PartStage
from portal.shop.states import LetterKind
from portal.store.tables import Job, JobForecast, Letter
from tests.factories import Booked, a_booked_job, a_job_at, events
from tests.orders.test_findings import painted, raise_it
from tests.orders.test_forecasting import change, row_of

DATES = (LetterKind.NEW_DATE, LetterKind.ON_TIME, LetterKind.STILL_WAITING)


def letters(unit) -> list[LetterKind]:
    query = sa.select(Letter.kind).where(Letter.kind.in_(DATES)).order_by(Letter.id)
    with unit.read() as session:
        return list(session.scalars(query))


def forecast_of(unit, job: Booked) -> JobForecast:
    with unit.read() as session:
        return session.get_one(JobForecast, job.job_id)


@pytest.mark.postgres
def test_an_outage_that_ends_is_told_once_and_taken_back(unit, clock):
    job = a_job_at(unit, PartStage.BLAST)
    change(unit, Job, job.job_id, promise_at=clock.now() + timedelta(days=3))
    stop_station(unit, PartStage.BLAST, clock.now(), clock.now() + timedelta(days=9), who=None)
    reforecast_all(unit)
    assert letters(unit) == []  # one look may be wrong
    clock.advance(hours=1)
    reforecast_all(unit)
    assert letters(unit) == []
    clock.advance(hours=2)
    reforecast_all(unit)
    assert letters(unit) == [LetterKind.NEW_DATE]
    told = forecast_of(unit, job).told_at
    assert told > row_of(unit, job).promise_at
    start_station(unit, PartStage.BLAST, clock.now() - timedelta(hours=3), who=None)
    reforecast_all(unit)
    clock.advance(hours=2, minutes=30)
    reforecast_all(unit)
    assert letters(unit) == [LetterKind.NEW_DATE, LetterKind.ON_TIME]
    assert forecast_of(unit, job).told_at is None
    assert len(events(unit, job, "on_time")) == 1


def test_a_swing_of_an_hour_is_told_to_nobody(unit, clock):
    job = a_job_at(unit, PartStage.BLAST)
    change(unit, Job, job.job_id, promise_at=clock.now() + timedelta(days=3))
    begun = clock.now()
    stop_station(unit, PartStage.BLAST, begun, begun + timedelta(days=9), who=None)
    reforecast_all(unit)
    clock.advance(hours=1)
    start_station(unit, PartStage.BLAST, begun, who=None)
    for _ in range(4):
        reforecast_all(unit)
        clock.advance(hours=1)
    assert letters(unit) == []


def test_whose_answer_is_awaited_is_reminded_instead(unit, clock):
    job = a_job_at(unit, PartStage.BLAST)
    raise_it(unit, job, painted(unit, job, 1))
    change(unit, Job, job.job_id, promise_at=clock.now() + timedelta(minutes=90))
    reforecast_all(unit)
    reforecast_all(unit)
    assert letters(unit) == [LetterKind.STILL_WAITING]
    assert len(events(unit, job, "asked_again")) == 1
    assert forecast_of(unit, job).told_at is None


def test_nothing_is_told_of_parts_that_were_not_brought(unit, clock):
    job = a_booked_job(unit)
    change(unit, Job, job.job_id, promise_at=clock.now() + timedelta(hours=2))
    for _ in range(4):
        reforecast_all(unit)
        clock.advance(hours=2)
    assert letters(unit) == []


def test_customers_who_booked_later_go_behind_instead_of_making_it_late(unit, clock, monkeypatch):
    job = a_job_at(unit, PartStage.BLAST)
    reforecast_all(unit)
    clock.advance(minutes=20)
    other = a_booked_job(unit, dropoff=timedelta(hours=1))
    change(unit, Job, job.job_id, promise_at=clock.now() + timedelta(hours=20))
    real = forecasting.read_forecast

    def late_beside_the_other(floor, *, margin):
        """A floor on which the later customer goes first, unless the earlier one is put first."""
        found = real(floor, margin=margin)
        with_other = any(one.job_id == other.job_id for one in floor.jobs)
        put_first = any(one.job_id == job.job_id and one.rush for one in floor.jobs)
        days = timedelta(days=6) if with_other and not put_first else timedelta()
        own = found.outlook[job.job_id]
        late = type(own)(own.likely_at + days, own.safe_at + days, own.station)
        return type(found)({**found.outlook, job.job_id: late}, found.sequence)

    monkeypatch.setattr(forecasting, "read_forecast", late_beside_the_other)
    for _ in range(5):
        reforecast_all(unit)
        clock.advance(hours=1)
    assert letters(unit) == []
    assert forecast_of(unit, job).goes_first
    assert not forecast_of(unit, other).goes_first
    with unit.read() as session:
        assert {one.job_id for one in open_jobs(session) if one.rush} == {job.job_id}
