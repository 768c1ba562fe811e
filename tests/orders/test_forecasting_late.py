"""The forecast as each job keeps it: dates and station, and who is told when a date slips."""

from datetime import UTC, datetime, timedelta

import sqlalchemy as sa

from portal.orders.office import documents
from portal.orders.office.late import late_jobs
from portal.orders.office.stations import start_station, stop_station
from portal.orders.planning.forecasting import reforecast_all, wanted_order
from portal.orders.production import floor
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Job, JobForecast, Letter, Move
from tests.factories import Booked, a_booked_job, a_job_at, a_job_in_work, events
from tests.orders.test_forecasting import change, key_of, row_of


def new_date_letters(unit) -> list[Letter]:
    query = sa.select(Letter).where(Letter.cause.startswith("date-")).order_by(Letter.id)
    with unit.read() as session:
        return list(session.scalars(query))


def forecast_of(unit, job: Booked) -> JobForecast | None:
    with unit.read() as session:
        return session.get(JobForecast, job.job_id)


# what is kept


def test_every_open_job_gets_its_dates_and_the_station_that_holds_it_up(unit, clock):
    jobs = [a_job_in_work(unit, first_tag=101 + 10 * n) for n in range(3)]
    over = a_booked_job(unit)
    change(unit, Job, over.job_id, state=JobState.HANDED_BACK)
    assert reforecast_all(unit) == 3
    with unit.read() as session:
        week = unit.shop(session).week
    for job in jobs:
        row = forecast_of(unit, job)
        assert clock.now() < row.likely_at <= row.safe_at
        assert week.pickup_after(row.safe_at) == row.safe_at
        assert row.station in PartStage
        assert row.made_at == clock.now()
    assert forecast_of(unit, over) is None


def test_without_open_jobs_nothing_is_forecast(unit):
    assert reforecast_all(unit) == 0


def test_a_booked_job_is_not_foreseen_before_it_is_brought(unit):
    job = a_booked_job(unit, dropoff=timedelta(days=4))
    reforecast_all(unit)
    row = row_of(unit, job)
    assert forecast_of(unit, job).likely_at > row.dropoff_at


def test_a_promise_that_is_kept_is_not_written_over_and_nobody_is_told(unit):
    job = a_job_in_work(unit)
    promised = row_of(unit, job).promise_at
    reforecast_all(unit)
    row = row_of(unit, job)
    assert row.promise_at == row.promised_first_at == promised
    assert forecast_of(unit, job).safe_at <= promised
    assert new_date_letters(unit) == []
    assert events(unit, job, "new_date") == []
    assert late_jobs(unit).lines == ()


# late


def a_late_job(unit, clock) -> Booked:
    """Four wheels at the blaster that were promised for an hour from now."""
    job = a_job_at(unit, PartStage.BLAST)
    change(unit, Job, job.job_id, promise_at=clock.now() + timedelta(hours=1))
    return job


def test_a_job_that_passes_its_promise_is_late_with_its_station_and_its_customer_is_told(
    unit, clock
):
    job = a_late_job(unit, clock)
    reforecast_all(unit)
    row = row_of(unit, job)
    assert forecast_of(unit, job).safe_at > row.promise_at
    (line,) = late_jobs(unit).lines
    assert (line.code, line.forecast_at) == (job.code, forecast_of(unit, job).safe_at)
    assert line.stage is not None
    (letter,) = new_date_letters(unit)
    assert letter.to == "robin@example.com"
    assert forecast_of(unit, job).station.title in letter.text
    (event,) = events(unit, job, "new_date")
    assert event.data["day"] == f"{forecast_of(unit, job).safe_at:%Y-%m-%d}"


def test_the_promise_itself_stays_what_was_given(unit, clock):
    job = a_late_job(unit, clock)
    promised = row_of(unit, job).promise_at
    reforecast_all(unit)
    assert row_of(unit, job).promise_at == promised


def test_the_same_day_is_told_once_and_a_later_day_again(unit, clock):
    job = a_late_job(unit, clock)
    for _ in range(3):
        reforecast_all(unit)
        clock.advance(minutes=10)
    assert len(new_date_letters(unit)) == len(events(unit, job, "new_date")) == 1
    clock.advance(days=2)  # nobody has touched it: the day that was told is over
    reforecast_all(unit)
    reforecast_all(unit)
    assert len(new_date_letters(unit)) == len(events(unit, job, "new_date")) == 2


def test_a_date_that_gets_better_after_it_was_told_is_not_told_again(unit, clock):
    job = a_late_job(unit, clock)
    until = clock.now() + timedelta(days=4)
    stop_station(unit, PartStage.BLAST, clock.now(), until, who=None)
    reforecast_all(unit)
    told = forecast_of(unit, job).safe_at
    start_station(unit, PartStage.BLAST, clock.now(), who=None)
    reforecast_all(unit)
    row = row_of(unit, job)
    assert row.promise_at < forecast_of(unit, job).safe_at < told - timedelta(days=2)
    assert len(new_date_letters(unit)) == len(events(unit, job, "new_date")) == 1


def test_a_promise_that_is_more_likely_kept_than_not_worries_nobody(unit, clock):
    jobs = [a_job_in_work(unit, first_tag=101 + 10 * n) for n in range(6)]
    reforecast_all(unit)
    job = max(jobs, key=lambda one: forecast_of(unit, one).safe_at)
    before = forecast_of(unit, job)
    assert before.likely_at < before.safe_at  # there is something to be unsure of
    change(unit, Job, job.job_id, promise_at=before.likely_at)
    reforecast_all(unit)
    row = row_of(unit, job)
    assert forecast_of(unit, job).safe_at == row.promise_at
    assert new_date_letters(unit) == []


def test_a_job_that_catches_up_is_no_longer_late(unit, clock):
    job = a_late_job(unit, clock)
    reforecast_all(unit)
    change(unit, Job, job.job_id, promise_at=clock.now() + timedelta(days=7))
    reforecast_all(unit)
    assert late_jobs(unit).lines == ()
    assert len(new_date_letters(unit)) == 1


def test_a_closure_makes_a_job_late_that_was_not(unit, clock):
    job = a_job_at(unit, PartStage.BLAST)
    change(unit, Job, job.job_id, promise_at=clock.now() + timedelta(days=2))
    reforecast_all(unit)
    assert late_jobs(unit).lines == ()
    before = key_of(unit)
    body = dict(documents.document(unit, "week").body)
    body["closures"] = [{"from": "2026-06-01", "to": "2026-06-05", "why": "Flooded"}]
    documents.put_document(
        unit, "week", body, expected_edition_id=documents.newest(unit, "week"), who=None
    )
    assert key_of(unit) != before
    reforecast_all(unit)
    (line,) = late_jobs(unit).lines
    assert line.code == job.code
    assert line.forecast_at >= datetime(2026, 6, 6, tzinfo=UTC)


# the order on the floor


def test_the_wanted_order_lists_the_jobs_of_each_station(unit):
    blast = a_job_at(unit, PartStage.BLAST)
    done = a_job_at(unit, PartStage.DONE, first_tag=201)
    booked = a_booked_job(unit, dropoff=timedelta(days=2))
    reforecast_all(unit)
    with unit.read() as session:
        found = wanted_order(session)
    assert found[PartStage.BLAST] == (blast.job_id, booked.job_id)
    assert found[PartStage.PREP] == (booked.job_id,)
    assert all(done.job_id not in jobs for jobs in found.values())


def test_the_order_holds_after_a_scan_until_the_worker_has_forecast_anew(unit):
    job = a_job_at(unit, PartStage.BLAST)
    reforecast_all(unit)
    with unit.read() as session:
        first = wanted_order(session)
    floor.move_on(unit, job.part_ids, to=PartStage.COAT, who=None)
    with unit.read() as session:
        assert wanted_order(session) == first
    reforecast_all(unit)
    with unit.read() as session:
        now = wanted_order(session)
    assert PartStage.BLAST not in now
    assert now[PartStage.COAT] == (job.job_id,)


def test_before_the_first_forecast_there_is_no_order(unit):
    a_job_at(unit, PartStage.BLAST)
    with unit.read() as session:
        assert wanted_order(session) == {}


def test_events_of_new_dates_are_kept_like_all_others(unit, clock):
    job = a_late_job(unit, clock)
    before = key_of(unit)
    reforecast_all(unit)
    with unit.read() as session:
        move = session.scalars(sa.select(Move).where(Move.verb == "new_date")).one()
    assert (move.job_id, move.person_id) == (job.job_id, None)
    assert key_of(unit) != before


# what a round costs


def statements_of_a_round(unit) -> int:
    """How often a round asks the database when there is nothing new to tell."""
    reforecast_all(unit)
    said: list[str] = []

    def count(_link, _cursor, text, *_) -> None:
        said.append(text)

    sa.event.listen(unit._engine(), "before_cursor_execute", count)
    reforecast_all(unit)
    sa.event.remove(unit._engine(), "before_cursor_execute", count)
    return len(said)


def test_many_late_jobs_cost_a_round_as_many_statements_as_one(unit, clock):
    a_late_job(unit, clock)
    few = statements_of_a_round(unit)
    for n in range(3):
        job = a_job_in_work(unit, first_tag=201 + 10 * n)
        change(unit, Job, job.job_id, promise_at=clock.now() + timedelta(minutes=5))
    assert statements_of_a_round(unit) == few
    assert len({one.job_id for one in new_date_letters(unit)}) == 4
