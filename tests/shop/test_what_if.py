"""What-if: the same jobs on a changed floor, with the same chance, nothing else changed."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from portal.shop.calendar.week import read_week
from portal.shop.route import PartStage
from portal.shop.scheduling.forecast import JobWork, PartState
from portal.shop.scheduling.stations import read_stations
from portal.shop.scheduling.what_if import SATURDAY, Idea, compare, usual_order, with_idea
from portal.shop.shop import bodies
from tests.shop.floors import a_work

NOW = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)  # a Monday
WHEEL = a_work("R9005-S", prep=8.0, blast=60.0, coat=(4.0,))
SEED = 7


@pytest.fixture
def floor(shop_text):
    documents = bodies(shop_text)
    return read_stations(documents["stations"]), read_week(documents["week"])


def jobs(count: int, days: float = 1.5, *, outside: int = 0) -> tuple[JobWork, ...]:
    """So many sets of four wheels that need much blasting, promised one after another."""
    work = replace(WHEEL, outside_days=outside)
    parts = (PartState(work, PartStage.PREP, 0, NOW),) * 4
    return tuple(
        JobWork(n + 1, parts, NOW, NOW + timedelta(days=days * (n + 1))) for n in range(count)
    )


def test_a_second_blast_cabinet_brings_dates_forward_where_blast_is_the_queue(floor) -> None:
    found = compare(Idea(more_places=PartStage.BLAST), jobs(10, 0.5), *floor, NOW, seed=SEED)
    assert all(one.after_at <= one.before_at for one in found.jobs)
    assert found.jobs[-1].after_at < found.jobs[-1].before_at
    assert found.late_after < found.late_before
    assert found.order_after <= found.order_before


def test_a_second_inspection_bench_changes_little_where_blast_is_the_queue(floor) -> None:
    found = compare(Idea(more_places=PartStage.INSPECT), jobs(6), *floor, NOW, seed=SEED)
    moved = [abs(one.after_at - one.before_at) for one in found.jobs]
    assert max(moved) <= timedelta(days=1)


def test_saturdays_bring_forward_what_would_have_waited_over_the_weekend(floor) -> None:
    found = compare(Idea(saturday=True), jobs(12, 0.5), *floor, NOW, seed=SEED)
    assert any(one.after_at < one.before_at for one in found.jobs)
    assert all(one.after_at <= one.before_at for one in found.jobs)


def test_strip_runs_on_other_days_change_only_what_goes_outside(floor) -> None:
    inside = compare(Idea(strip_days=(0,)), jobs(3), *floor, NOW, seed=SEED)
    assert all(one.after_at == one.before_at for one in inside.jobs)
    outside = compare(Idea(strip_days=(3,)), jobs(3, outside=2), *floor, NOW, seed=SEED)
    assert any(one.after_at != one.before_at for one in outside.jobs)


def test_an_idea_changes_only_what_it_names(floor) -> None:
    stations, week = floor
    assert with_idea(Idea(), stations, week) == (stations, week)
    more, _ = with_idea(Idea(more_places=PartStage.BLAST), stations, week)
    assert more[PartStage.BLAST].places == stations[PartStage.BLAST].places + 1
    assert more[PartStage.PREP] == stations[PartStage.PREP]
    _, open_week = with_idea(Idea(saturday=True), stations, week)
    assert open_week.work[SATURDAY] == week.work[SATURDAY - 1]
    assert open_week.pickup == week.pickup


def test_the_same_idea_gives_the_same_answer(floor) -> None:
    idea = Idea(more_places=PartStage.BLAST)
    first = compare(idea, jobs(4), *floor, NOW, seed=SEED)
    assert first == compare(idea, jobs(4), *floor, NOW, seed=SEED)


def test_the_usual_order_has_as_many_parts_as_most_and_nothing_done() -> None:
    some = jobs(3)
    lone = JobWork(9, some[0].parts[:1], NOW, NOW)
    usual = usual_order((lone, *some), NOW)
    assert len(usual.parts) == 4
    assert {part.stage for part in usual.parts} == {PartStage.PREP}
    assert usual_order((), NOW) is None


def test_without_open_jobs_there_is_nothing_to_compare(floor) -> None:
    found = compare(Idea(saturday=True), (), *floor, NOW, seed=SEED)
    assert (found.jobs, found.order_before) == ((), None)
