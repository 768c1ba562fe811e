"""A closed day reaches those whom it hits: seen before it is saved, then told."""

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import sqlalchemy as sa

from portal.orders.counter import cancellation
from portal.orders.customer.status_view import status
from portal.orders.kernel.errors import Refused
from portal.orders.office import documents
from portal.orders.office.closures import hit_by, mark_of, put_week, tell_of_closures
from portal.orders.office.retention import sweep
from portal.shop.calendar.closures import is_open_at, open_date
from portal.shop.calendar.week import read_week
from portal.shop.moves import JobState
from portal.shop.states import LetterKind, LetterState
from portal.store.tables import Job, JobForecast, Letter
from tests.factories import Booked, a_booked_job, a_job_in_work, events, state
from tests.orders.test_customer_changes import move
from tests.orders.test_forecasting import change, row_of
from tests.rows import forecast_of
from tests.shop.test_reading_week import DEMO

FRIDAY = date(2026, 6, 5)


def closed(unit, *days: date, why: str = "Stocktake") -> Mapping[str, Any]:
    """Return the week with some days closed beside those that are."""
    body = dict(documents.document(unit, "week").body)
    rows = [{"from": str(day), "to": str(day), "why": why} for day in days]
    return {**body, "closures": [*body.get("closures", []), *rows]}


def put(unit, body: Mapping[str, Any]) -> None:
    put_week(unit, body, expected_edition_id=documents.newest(unit, "week"), who=None)


def letters(unit) -> list[Letter]:
    query = sa.select(Letter).where(Letter.kind == LetterKind.CLOSED).order_by(Letter.id)
    with unit.read() as session:
        return list(session.scalars(query))


def comes_on_friday(unit) -> Booked:
    return a_booked_job(unit, dropoff=timedelta(days=4))


def goes_on_friday(unit, clock) -> Booked:
    job = a_job_in_work(unit)
    friday = clock.now() + timedelta(days=4)
    change(unit, Job, job.job_id, promise_at=friday, promised_first_at=friday)
    return job


@pytest.mark.postgres
def test_whom_a_closed_day_hits_is_seen_first_and_then_told(unit, clock):
    comes, goes = comes_on_friday(unit), goes_on_friday(unit, clock)
    a_booked_job(unit, dropoff=timedelta(days=3))
    body = closed(unit, FRIDAY)
    hits = hit_by(unit, body, None)
    assert [(one.job_id, bool(one.dropoff_at), bool(one.was_at)) for one in hits] == [
        (goes.job_id, False, True),
        (comes.job_id, True, False),
    ]
    assert mark_of(hits) != mark_of(hits[:1])
    assert letters(unit) == []
    promised = row_of(unit, goes).promise_at

    put(unit, body)
    told, asked = letters(unit)
    assert "closed on the day on which your parts were to be ready" in told.text
    assert f"/J/{comes.token}/time" in asked.text
    assert "Stocktake" in asked.text
    row = row_of(unit, goes)
    assert row.promised_first_at != row.promise_at > promised
    with unit.read() as session:
        week = unit.shop(session).week
    assert is_open_at(week, week.pickup, row.promise_at)
    assert [len(events(unit, job, "closed_day")) for job in (comes, goes)] == [1, 1]
    assert hit_by(unit, body, None) == ()
    assert tell_of_closures(unit) == 0
    assert len(letters(unit)) == 2


@pytest.mark.postgres
def test_who_was_told_of_a_closed_day_hears_that_it_is_open_after_all(unit, clock):
    job = comes_on_friday(unit)
    usual, shut = closed(unit), closed(unit, FRIDAY)
    put(unit, shut)
    leave(unit)
    put(unit, usual)
    assert f"/J/{job.token}/time" in letters(unit)[0].text
    assert "We are open after all" in letters(unit)[1].text
    put(unit, {**usual, "half_days": []})
    assert len(letters(unit)) == 2, "what changes nothing for a drop-off is not told"
    put(unit, closed(unit, FRIDAY))
    assert [one.cause.partition("-")[0] for one in letters(unit)] == ["closed", "open", "closed"]


def test_a_letter_about_a_closed_day_that_has_not_left_is_kept_back(unit):
    comes_on_friday(unit)
    usual = closed(unit)
    put(unit, closed(unit, FRIDAY))
    put(unit, usual)
    assert [one.state for one in letters(unit)] == [LetterState.TAKEN_BACK]
    put(unit, closed(unit, FRIDAY))
    assert [one.state for one in letters(unit)] == [LetterState.TAKEN_BACK, LetterState.QUEUED]


def test_who_chose_another_time_meanwhile_is_not_told(unit):
    job = comes_on_friday(unit)
    usual = closed(unit)
    put(unit, closed(unit, FRIDAY))
    leave(unit)
    move(unit, job)
    put(unit, usual)
    assert len(letters(unit)) == 1


def leave(unit) -> None:
    """Let every letter leave."""
    unit.write(lambda s: s.execute(sa.update(Letter).values(state=LetterState.SENT)))


def test_nobody_is_missed_who_stood_before_a_shut_door(unit, clock):
    job = comes_on_friday(unit)
    put(unit, closed(unit, FRIDAY))
    clock.advance(days=5)
    with pytest.raises(Refused, match="closed"):
        cancellation.mark_no_show(unit, job.job_id, who=None)
    sweep(unit)
    assert state(unit, job) == JobState.BOOKED
    page = status(unit, job.token)
    assert page.shut
    assert page.change_until
    offer = move(unit, job)
    page = status(unit, job.token)
    assert (page.shut, page.dropoff_at) == (False, offer.start)


def test_a_closure_that_comes_in_force_by_itself_is_told_once(unit, clock):
    job = goes_on_friday(unit, clock)
    body = closed(unit, FRIDAY, why="")
    documents.put_document(
        unit, "week", body, expected_edition_id=documents.newest(unit, "week"), who=None
    )
    assert tell_of_closures(unit) == 1
    assert tell_of_closures(unit) == 0
    assert len(letters(unit)) == 1
    assert row_of(unit, job).promise_at.date() > FRIDAY
    assert status(unit, job.token).moved_by_closure


def test_a_later_date_that_was_told_moves_in_place_of_the_promise(unit, clock):
    job = a_job_in_work(unit)
    friday = clock.now() + timedelta(days=4)
    change(unit, Job, job.job_id, promise_at=friday - timedelta(days=1))
    unit.write(lambda s: forecast_of(s, job.job_id, friday, told_at=friday))
    put(unit, closed(unit, FRIDAY))
    with unit.read() as session:
        assert session.get_one(JobForecast, job.job_id).told_at.date() > FRIDAY
    assert row_of(unit, job).promise_at == friday - timedelta(days=1)


def test_an_early_end_hits_what_lies_behind_it(unit):
    job = a_booked_job(unit, dropoff=timedelta(days=3, hours=7, minutes=30))  # Thursday, 16:30
    body = dict(documents.document(unit, "week").body)
    body["half_days"] = [*body["half_days"], {"day": "2026-06-04", "until": "12:00"}]
    assert [one.job_id for one in hit_by(unit, body, None)] == [job.job_id]
    assert hit_by(unit, {"zone": "nowhere"}, None) == ()


@pytest.mark.parametrize(
    ("shut", "promised", "moves_to"),
    [
        (
            ["2026-06-03"],
            datetime(2026, 6, 3, 13, tzinfo=UTC),
            datetime(2026, 6, 4, 13, tzinfo=UTC),
        ),
        # three days are lost: Monday to Wednesday
        (
            ["2026-06-01", "2026-06-02", "2026-06-03"],
            datetime(2026, 6, 3, 13, tzinfo=UTC),
            datetime(2026, 6, 8, 13, tzinfo=UTC),
        ),
        # Friday ends at 16:30, so the hour of Thursday is Saturday's first
        (
            ["2026-06-04"],
            datetime(2026, 6, 4, 16, tzinfo=UTC),
            datetime(2026, 6, 6, 8, tzinfo=UTC),
        ),
    ],
)
def test_a_promise_moves_by_as_many_working_days_as_it_loses(shut, promised, moves_to):
    week = read_week({**DEMO, "closures": [{"from": day} for day in shut]})
    assert open_date(week, promised, date(2026, 5, 29)) == moves_to
