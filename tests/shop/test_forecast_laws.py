"""Laws that a forecast keeps for any floor: hours, order, monotony, the pace of the bottleneck."""

from datetime import UTC, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.shop.route import PartStage
from portal.shop.scheduling.forecast import JobWork
from tests.deep import examples
from tests.shop.floors import (
    MONDAY,
    WEEK,
    a_floor,
    a_job,
    a_week,
    a_work,
    after,
    likely,
    seen,
    worked,
)

WORKS = st.builds(
    a_work,
    st.sampled_from(["BLACK", "RED", "BLUE"]),
    st.integers(1, 2),
    blast=st.floats(5, 40),
    refit=st.sampled_from([0.0, 15.0]),
    outside_days=st.sampled_from([0, 0, 0, 2]),
)
STAGES = st.sampled_from(
    [one for one in PartStage if one not in {PartStage.STRIP, PartStage.REFIT, PartStage.GONE}]
)


@st.composite
def queues(draw: st.DrawFn) -> list[JobWork]:
    return [
        a_job(
            n,
            draw(WORKS),
            parts=draw(st.integers(1, 5)),
            stage=draw(STAGES),
            comes=MONDAY + timedelta(hours=draw(st.integers(-40, 40))),
            promise=MONDAY + timedelta(days=draw(st.integers(0, 14))),
        )
        for n in range(1, draw(st.integers(2, 12)))
    ]


@examples(40)
@given(queues())
def test_every_outlook_is_after_now_inside_working_hours_and_safe_is_not_before_likely(jobs):
    stations = a_floor(spread=0.25, rework_rate=0.05, strip_late_rate=0.05)
    found = seen(*jobs, stations=stations, replications=60)
    left = {one.job_id for one in jobs if one.parts[0].stage is not PartStage.DONE}
    assert set(found.outlook) == left
    for job in jobs:
        if job.job_id not in left:
            continue
        one = found.outlook[job.job_id]
        assert MONDAY <= one.likely_at <= one.safe_at
        for moment in (one.likely_at, one.safe_at):
            assert moment.tzinfo is UTC
            assert WEEK.is_working_day(moment.date())
            assert 8 * 60 <= moment.hour * 60 + moment.minute <= 18 * 60
        if job.parts[0].stage is PartStage.EXPECTED:
            assert one.likely_at > job.arrives_at


@examples(40)
@given(queues())
def test_each_station_takes_exactly_the_jobs_that_still_need_it(jobs):
    found = seen(*jobs, replications=10)
    needs_blast = {
        one.job_id
        for one in jobs
        if one.parts[0].stage in {PartStage.EXPECTED, PartStage.PREP, PartStage.BLAST}
    }
    taken = found.sequence.get(PartStage.BLAST, ())
    assert set(taken) == needs_blast
    assert len(taken) == len(set(taken))


def test_a_long_queue_moves_at_the_pace_of_its_bottleneck():
    # Little (1961): in a busy line departures keep the bottleneck's rate, one in 40 minutes
    stations = a_floor(spread=0.25)
    jobs = [a_job(n, a_work(blast=40.0), comes=after(-n)) for n in range(1, 81)]
    found = seen(*jobs, stations=stations, replications=200)
    ends = sorted(worked(found.outlook[n].likely_at) for n in range(1, 81))
    spacing = (ends[-1] - ends[19]) / 60
    assert spacing / timedelta(minutes=40) == pytest.approx(1.0, abs=0.04)
    assert all(a <= b for a, b in pairwise(ends))


def test_a_longer_queue_never_brings_the_last_job_forward():
    last = a_job(99, comes=after(-1))
    before = None
    for length in range(16):
        jobs = [a_job(n, comes=after(-600 + n)) for n in range(1, length + 1)]
        now = seen(*jobs, last, stations=a_floor(spread=0.2)).outlook[99]
        if before:
            assert now.likely_at >= before.likely_at
            assert now.safe_at >= before.safe_at
        before = now


def test_more_wheels_never_bring_a_job_forward():
    queue = [a_job(n, parts=2, comes=after(-600 + n)) for n in range(1, 6)]
    found = [
        seen(*queue, a_job(99, parts=parts), stations=a_floor(spread=0.2)).outlook[99]
        for parts in range(1, 14)
    ]
    assert all(a.likely_at <= b.likely_at for a, b in pairwise(found))
    assert all(a.safe_at <= b.safe_at for a, b in pairwise(found))


def test_a_closure_puts_every_date_off():
    shut = a_week(closures=[{"from": "2026-06-02", "to": "2026-06-05"}])
    jobs = [a_job(n, a_work(blast=90.0)) for n in range(1, 13)]
    open_, closed = seen(*jobs), seen(*jobs, week=shut)
    for n in range(1, 13):
        here, there = likely(open_, n), likely(closed, n)
        assert there == (here if here.date() == MONDAY.date() else here + timedelta(days=6))
