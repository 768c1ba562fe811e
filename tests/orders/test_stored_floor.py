"""The floor is simulated once, outside every transaction, and read by all processes."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.craft.declared import read_declared
from portal.orders.counter import today_view
from portal.orders.intake import booking
from portal.orders.intake.draft_view import look
from portal.orders.office import documents
from portal.orders.planning import booked_since, forecasting
from portal.orders.planning.forecasting import FRESH, reforecast_all
from portal.orders.planning.free_times import free_times
from portal.orders.planning.planned_loads import planned_loads
from portal.orders.planning.stored_floor import newest_work, simulated_at
from portal.orders.production import board_view, floor, oven_view
from portal.shop.assessment.assess import assess
from portal.shop.route import PartStage
from portal.store.tables import Booking, JobForecast, SimulatedFloor
from tests.databases import forget_what_was_learned
from tests.factories import WHEELS, a_booked_job, a_job_at, a_job_in_work
from tests.orders.test_booking import a_draft


@pytest.fixture
def simulated(unit, monkeypatch) -> list[int]:
    """Return how many jobs each simulation had; none may run in a transaction."""
    runs: list[int] = []
    real = forecasting.simulate_floor

    def watched(jobs, *args, **kwargs):
        assert unit._session() is None, "the floor was simulated in a transaction"
        runs.append(len(jobs))
        return real(jobs, *args, **kwargs)

    monkeypatch.setattr(forecasting, "simulate_floor", watched)
    return runs


def offers(unit, **how):
    times = free_times(unit, **how)
    order = read_declared({"sets": [WHEELS], "bringing": "bare"})
    return times.offers(assess(order, times.shop, times.shop.day(times.now)))


def test_what_was_stored_leads_to_the_dates_of_the_simulation(unit, simulated) -> None:
    for n in range(3):
        a_job_in_work(unit, first_tag=101 + 10 * n)
    a_booked_job(unit, dropoff=timedelta(days=2))
    fresh = offers(unit)
    reforecast_all(unit)
    forget_what_was_learned()
    simulated.clear()
    assert offers(unit) == fresh
    assert simulated == []


def test_pages_read_the_stored_floor_while_things_happen(unit, clock, simulated) -> None:
    job = a_job_at(unit, PartStage.COAT)
    a_job_at(unit, PartStage.CURE, first_tag=201)
    reforecast_all(unit)
    simulated.clear()
    floor.move_on(unit, job.part_ids[:1], to=PartStage.CURE, who=None)
    a_booked_job(unit)
    clock.advance(minutes=4)
    offers(unit)
    board_view.floor(unit)
    oven_view.oven(unit)
    today_view.today(unit)
    assert simulated == []


def test_a_floor_that_nobody_renews_is_simulated_by_the_page_once(unit, clock, simulated) -> None:
    a_job_in_work(unit)
    reforecast_all(unit)
    clock.advance(seconds=FRESH.total_seconds() + 1)
    simulated.clear()
    assert offers(unit) == offers(unit)
    assert len(simulated) == 1


def test_other_hours_are_not_offered_by_the_floor_of_before(unit, simulated) -> None:
    reforecast_all(unit)
    body = {**documents.document(unit, "week").body, "half_days": []}
    newest = documents.newest(unit, "week")
    documents.put_document(unit, "week", body, expected_edition_id=newest, who=None)
    simulated.clear()
    offers(unit)
    assert len(simulated) == 1


def test_a_promise_knows_everybody_who_has_booked(unit, simulated) -> None:
    reforecast_all(unit)
    simulated.clear()
    offers(unit, sure=True)
    assert simulated == []
    a_booked_job(unit)
    offers(unit, sure=True)
    assert len(simulated) == 1
    reforecast_all(unit)
    simulated.clear()
    offers(unit, sure=True)
    assert simulated == []


@pytest.mark.postgres
def test_who_books_while_another_does_is_promised_what_holds_with_both(
    unit, monkeypatch, simulated
) -> None:
    other = a_job_in_work(unit)
    token = a_draft(unit)
    seen = look(unit, token)
    agreed, keys = booking.agreement(seen), [one.key for one in seen.to_confirm]
    real, begun = booking._check, []

    def check(*args):
        if not begun:
            begun.append(Booking(window_start=unit.now(), place=9, job_id=other.job_id))
            unit.write(lambda session: session.add(begun[0]))
        return real(*args)

    monkeypatch.setattr(booking, "_check", check)
    simulated.clear()
    assert booking.book(unit, token, once_token="the-last-button", agreed=agreed, confirmed=keys)
    # the page's floor served before the other booked; then it was simulated with both
    assert len(simulated) == 1


def test_a_promise_is_made_though_people_never_stop_booking(unit) -> None:
    tried = []

    def promise(work):
        tried.append(work)
        a_booked_job(unit, dropoff=timedelta(days=len(tried)))
        unit.write(lambda session: booked_since.refuse_if_booked_since(session, work))
        return "promised"

    assert booked_since.promised(unit, promise) == "promised"
    assert len(tried) == booked_since.TRIES + 1
    assert tried[-1] is None


def test_a_round_writes_only_what_has_changed(unit, clock) -> None:
    job = a_job_in_work(unit)
    other = a_booked_job(unit, dropoff=timedelta(days=3))
    reforecast_all(unit)
    before = clock.now() - timedelta(minutes=5)

    def of_another_round(session) -> None:
        session.execute(sa.update(JobForecast).values(made_at=before))
        own = sa.update(JobForecast).where(JobForecast.job_id == other.job_id)
        session.execute(own.values(safe_at=before + timedelta(days=90)))

    unit.write(of_another_round)
    reforecast_all(unit)
    with unit.read() as session:
        made = dict(session.execute(sa.select(JobForecast.job_id, JobForecast.made_at)).all())
        assert simulated_at(session) == clock.now()
    assert made == {job.job_id: before, other.job_id: clock.now()}


def test_a_simulation_that_was_overtaken_is_not_stored(unit, clock) -> None:
    reforecast_all(unit)
    later = clock.now()
    clock.advance(minutes=-1)
    reforecast_all(unit)
    with unit.read() as session:
        assert simulated_at(session) == later
        assert session.scalars(sa.select(SimulatedFloor.version)).one() == 1


def test_the_oven_loads_that_are_expected_are_kept_with_the_floor(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    with unit.read() as session:
        assert planned_loads(session, clock.now() + timedelta(days=1)) == ()
    reforecast_all(unit)
    with unit.read() as session:
        (load,) = planned_loads(session, clock.now() + timedelta(days=1))
        assert newest_work(session).jobs == job.job_id
    assert (load.job_ids, load.parts) == (frozenset({job.job_id}), len(job.part_ids))
    assert load.starts_at < load.ends_at
