"""Today: who comes, what goes out and where it stands, who waits, what is due and owed."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.craft.check_kinds import CheckKind
from portal.orders.counter import cancellation, hand_back
from portal.orders.counter.today_view import today
from portal.orders.planning.forecasting import reforecast_all
from portal.orders.production import floor, strip_runs
from portal.shop.faults import Fault
from portal.shop.route import PartStage
from portal.store.tables import Job, JobForecast
from tests.busy_day import FRAME, a_busy_day, a_full_day, promise
from tests.factories import PAINTED, a_booked_job, a_job_at, a_job_in_work
from tests.orders.test_findings import painted, raise_it
from tests.queries import queries_of


def names(jobs) -> list[str]:
    return [one.row.name for one in jobs]


def test_drop_offs_are_late_due_today_or_due_on_the_next_open_day(unit, clock) -> None:
    a_booked_job(unit, name="Tom Early", dropoff=timedelta(hours=1))
    a_booked_job(unit, name="Ada Noon", dropoff=timedelta(hours=4))
    a_booked_job(unit, name="Jon Next", dropoff=timedelta(days=1))
    a_booked_job(unit, name="Vera Later", dropoff=timedelta(days=3))
    clock.advance(hours=2)
    coming = today(unit).coming
    assert names(coming.late) == ["Tom Early"]
    assert names(coming.to_come) == ["Ada Noon"]
    assert names(coming.expected) == ["Tom Early", "Ada Noon"]
    assert names(coming.next_day) == ["Jon Next"]


def test_who_came_today_and_who_was_not_brought(unit, clock) -> None:
    a_job_in_work(unit, name="Imke Here")
    missed = a_booked_job(unit, name="Hugh Missed", dropoff=timedelta(hours=1))
    clock.advance(hours=6)
    cancellation.mark_no_show(unit, missed.job_id, who=None)
    coming = today(unit).coming
    assert names(coming.came) == ["Imke Here"]
    assert names(coming.not_brought) == ["Hugh Missed"]
    clock.advance(days=22)
    assert today(unit).coming.not_brought == ()


def test_on_a_friday_the_next_open_day_is_the_saturday_and_then_the_monday(unit, clock) -> None:
    clock.advance(days=4)
    friday = today(unit)
    assert friday.next_day - friday.day == timedelta(days=1)
    clock.advance(days=1)
    saturday = today(unit)
    assert saturday.next_day - saturday.day == timedelta(days=2)


def test_a_closed_day_says_why_and_has_no_hours(unit, clock) -> None:
    clock.advance(days=6)  # a Sunday
    seen = today(unit)
    assert seen.opens is None
    assert seen.closes is None


def test_what_goes_out_tells_where_its_parts_stand(unit, clock) -> None:
    now = clock.now()
    split = a_job_at(unit, PartStage.COAT, name="Cato Split")
    floor.move_on(unit, split.part_ids[:1], to=PartStage.CURE, who=None)
    promise(unit, split, now + timedelta(hours=3))
    over = a_job_at(unit, PartStage.BLAST, name="Otto Over", first_tag=111)
    promise(unit, over, now - timedelta(days=2))
    tomorrow = a_job_at(unit, PartStage.INSPECT, name="Nell Next", first_tag=121)
    promise(unit, tomorrow, now + timedelta(days=1))
    ready = a_job_at(unit, PartStage.DONE, FRAME, name="Rita Ready", first_tag=131)
    promise(unit, ready, now + timedelta(hours=1))
    hand_back.make_ready(unit, ready.job_id, who=None)
    seen = today(unit)
    assert names(seen.out.overdue) == ["Otto Over"]
    assert names(seen.out.due) == ["Otto Over", "Rita Ready", "Cato Split"]
    assert names(seen.out.next_day) == ["Nell Next"]
    stands = [(one.stage, one.count) for one in seen.out.today[1].stands]
    assert stands == [(PartStage.COAT, 3), (PartStage.CURE, 1)]
    assert seen.waits.shelf == 1


def test_what_was_promised_and_is_not_ready_stays_until_it_is(unit, clock) -> None:
    late = a_job_at(unit, PartStage.DONE, FRAME)
    promise(unit, late, clock.now() - timedelta(days=9))
    assert len(today(unit).out.overdue) == 1
    hand_back.make_ready(unit, late.job_id, who=None)
    seen = today(unit)
    assert seen.out.due == ()
    assert seen.waits.shelf == 1


def test_what_is_in_the_way_is_told(unit, clock) -> None:
    now = clock.now()
    run = strip_runs.open_run(unit, now.date(), now.date() + timedelta(days=2), who=None)
    away = a_job_in_work(unit, PAINTED, name="Ada Away")
    strip_runs.gather(unit, run, "101", who=None)
    again = a_job_at(unit, PartStage.INSPECT, FRAME, name="Bo Again", first_tag=111)
    floor.rework(unit, again.part_ids[0], Fault.RUN, who=None)
    slow = a_job_at(unit, PartStage.PREP, name="Cy Slow", first_tag=121)
    for n, one in enumerate((away, again, slow)):
        promise(unit, one, now + timedelta(hours=n + 1))
    later = now + timedelta(days=2)
    forecast = JobForecast(
        job_id=slow.job_id, safe_at=later, likely_at=later, station=PartStage.COAT, made_at=now
    )
    unit.write(lambda session: session.add(forecast))
    first, two, three = today(unit).out.today
    assert [(stand.run, stand.count) for stand in first.stands] == [(0, 3), (run, 1)]
    assert (two.again, first.again) == (1, 0)
    assert three.misses == later
    assert three.station is PartStage.COAT
    assert (first.misses, two.misses) == (None, None)


def test_who_has_to_answer_stands_with_the_question_and_since_when(unit, clock) -> None:
    job = a_job_in_work(unit, name="Anselm Roo")
    raise_it(unit, job, painted(unit, job, 1))
    asked_at = clock.now()
    clock.advance(hours=3)
    (one,) = today(unit).waits.answer
    assert one.asked_at == asked_at
    assert one.asked[0].amount.minor > 0


def test_received_jobs_stand_with_the_test_that_they_wait_for(unit) -> None:
    old = {"original_before_1980": True}
    a_job_in_work(unit, PAINTED, name="Old Paint", order=old)
    (one,) = today(unit).waits.start
    assert CheckKind.LEAD in one.tests


def test_the_day_has_its_loads_and_runs(unit, clock) -> None:
    a_full_day(unit, clock)
    reforecast_all(unit)
    seen = today(unit)
    running = [one for one in seen.loads if one.running]
    assert len(running) == 1
    assert running[0].ends_at > clock.now()
    planned = [one for one in seen.loads if one.planned]
    assert planned
    assert all(one.starts_at >= clock.now() for one in planned)
    assert all(one.ends_at.date() == clock.now().date() for one in planned)
    (leaving,) = seen.runs
    assert (leaving.back, leaving.parts, leaving.done) == (False, 1, False)


def test_a_strip_run_is_due_out_then_due_back_then_overdue(unit, clock) -> None:
    now = clock.now()
    a_job_in_work(unit, PAINTED)
    run = strip_runs.open_run(unit, now.date(), now.date() + timedelta(days=2), who=None)
    strip_runs.gather(unit, run, "101", who=None)
    clock.advance(hours=4)  # past the cut-off: it should have left
    assert today(unit).runs[0].overdue
    strip_runs.send(unit, run, who=None)
    (left,) = today(unit).runs
    assert (left.back, left.done, left.overdue) == (False, True, False)
    clock.advance(days=1)
    assert [one for one in today(unit).runs if one.number] == []
    clock.advance(days=1)
    (back,) = [one for one in today(unit).runs if one.number]
    assert (back.back, back.missing, back.overdue) == (True, 1, False)
    clock.advance(days=1)
    assert [one.overdue for one in today(unit).runs if one.number] == [True]


def test_a_run_of_the_calendar_for_which_nothing_is_gathered_is_due_too(unit, clock) -> None:
    with unit.read() as session:
        week = unit.shop(session).week
        leaves = next(week.runs(clock.now().date(), 14))
    clock.set(leaves.cut_off_at - timedelta(hours=1))
    (run,) = today(unit).runs
    assert (run.number, run.at) == (0, leaves.cut_off_at)


def test_money_of_the_day(unit, clock) -> None:
    job = a_job_at(unit, PartStage.DONE, FRAME)
    hand_back.make_ready(unit, job.job_id, who=None)
    money = today(unit).money
    assert money.total.minor == 0
    assert money.on_shelf.minor > 0
    assert money.gone_jobs == 0


@pytest.mark.parametrize("jobs", [20, 60])
def test_the_day_is_read_in_as_many_queries_however_many_jobs_are_open(unit, jobs) -> None:
    a_busy_day(unit, jobs)
    today(unit)  # the floor is simulated, the shop is read
    with queries_of(unit) as statements:
        seen = today(unit)
    assert len(seen.coming.expected) == 12
    with unit.read() as session:
        assert session.scalar(sa.select(sa.func.count()).select_from(Job)) == jobs
    assert len(statements) <= 17, "\n".join(statements)
