"""The rail: the job is as far as its least advanced part, and rework is honest."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from portal.shop.moves import JobState
from portal.shop.rail import Dates, PartMove, StopState, Travelled, rail
from portal.shop.route import PartPlan, PartStage, next_stage
from tests.readers import english

START = datetime(2026, 6, 1, 8, tzinfo=UTC)
P = PartStage


def dates(**more):
    return Dates(booked_at=START, dropoff_at=START + timedelta(days=1), **more)


def here(**more):
    return dates(received_at=START + timedelta(days=1), **more)


def part(number=1, stage=P.EXPECTED, coats=1, coats_done=0, strip=False, refit=False, reworks=0):
    return Travelled(number, stage, coats, coats_done, strip, refit, reworks)


def move(number, from_, to, hours, verb="move"):
    return PartMove(number, verb, from_, to, START + timedelta(hours=hours))


def shown(stops):
    return [(english(stop.title), stop.state.value) for stop in stops]


def now_of(stops):
    return [english(stop.title) for stop in stops if stop.state is StopState.NOW]


def test_a_booked_job_waits_for_its_drop_off():
    stops = rail(JobState.BOOKED, [part(strip=True)], [], dates())
    assert shown(stops) == [
        ("Booked", "done"),
        ("Drop-off", "now"),
        ("Prep", "next"),
        ("Strip", "next"),
        ("Blast", "next"),
        ("Coat", "next"),
        ("Inspect", "next"),
        ("Ready", "next"),
        ("Collected", "next"),
    ]
    assert stops[1].at == START + timedelta(days=1)


def test_two_coats_are_seen_as_two():
    titles = [english(s.title) for s in rail(JobState.BOOKED, [part(coats=2)], [], dates())]
    assert titles[4:6] == ["First coat", "Second coat"]


def test_a_job_is_as_far_as_its_least_advanced_part():
    parts = [part(1, P.INSPECT, coats_done=1), part(2, P.BLAST)]
    assert now_of(rail(JobState.IN_WORK, parts, [], here())) == ["Blast"]


def test_the_oven_is_part_of_its_coat_and_the_second_coat_is_another_stop():
    two = {"coats": 2}
    first = rail(JobState.IN_WORK, [part(1, P.CURE, **two)], [], here())
    second = rail(JobState.IN_WORK, [part(1, P.COAT, coats_done=1, **two)], [], here())
    assert now_of(first) == ["First coat"]
    assert now_of(second) == ["Second coat"]


def test_stops_carry_the_time_at_which_the_last_part_left_them():
    parts = [part(1, P.COAT), part(2, P.COAT)]
    moves = [
        move(1, P.EXPECTED, P.PREP, 24),
        move(2, P.EXPECTED, P.PREP, 24),
        move(1, P.PREP, P.BLAST, 25),
        move(2, P.PREP, P.BLAST, 27),
        move(1, P.BLAST, P.COAT, 28),
        move(2, P.BLAST, P.COAT, 30),
    ]
    stops = {english(s.title): s.at for s in rail(JobState.IN_WORK, parts, moves, here())}
    assert stops["Prep"] == START + timedelta(hours=27)
    assert stops["Blast"] == START + timedelta(hours=30)
    assert stops["Coat"] is None


def test_rework_takes_stops_back_and_says_so():
    parts = [part(1, P.BLAST, reworks=1)]
    moves = [
        move(1, P.PREP, P.BLAST, 25),
        move(1, P.BLAST, P.COAT, 26),
        move(1, P.COAT, P.CURE, 27),
        move(1, P.CURE, P.INSPECT, 28),
        move(1, P.INSPECT, P.BLAST, 29, verb="rework"),
    ]
    stops = rail(JobState.IN_WORK, parts, moves, here())
    blast = next(s for s in stops if english(s.title) == "Blast")
    assert blast.state is StopState.NOW
    assert blast.at is None
    assert "We weren't happy with one part and are doing it" in english(blast.note)
    assert next(s for s in stops if english(s.title) == "Coat").state is StopState.NEXT


def test_a_further_coat_takes_back_the_last_coat_alone():
    parts = [part(1, P.COAT, coats=2, coats_done=1, reworks=1)]
    moves = [
        move(1, P.BLAST, P.COAT, 26),
        move(1, P.COAT, P.CURE, 27),
        move(1, P.CURE, P.COAT, 28),
        move(1, P.COAT, P.CURE, 29),
        move(1, P.CURE, P.INSPECT, 30),
        move(1, P.INSPECT, P.COAT, 31, verb="rework"),
    ]
    stops = {english(s.title): s for s in rail(JobState.IN_WORK, parts, moves, here())}
    assert stops["First coat"].at == START + timedelta(hours=28)
    assert (stops["Second coat"].state, stops["Second coat"].at) == (StopState.NOW, None)
    assert "doing it again" in english(stops["Second coat"].note)


def test_an_undone_move_leaves_no_time_behind():
    moves = [
        move(1, P.PREP, P.BLAST, 25),
        move(1, P.BLAST, P.COAT, 26),
        move(1, P.COAT, P.BLAST, 26, verb="undo"),
    ]
    stops = {english(s.title): s for s in rail(JobState.IN_WORK, [part(1, P.BLAST)], moves, here())}
    assert stops["Prep"].at == START + timedelta(hours=25)
    assert stops["Blast"].state is StopState.NOW


def test_a_job_that_waits_says_for_whom():
    stops = rail(JobState.WAITING, [part(1, P.PREP)], [], here())
    assert "your answer" in english(next(s for s in stops if s.state is StopState.NOW).note)


def test_everything_done_but_not_on_the_shelf_is_being_put_together():
    stops = rail(JobState.IN_WORK, [part(1, P.DONE, coats_done=1)], [], here())
    assert now_of(stops) == ["Ready"]
    assert "Finished. We are putting your parts together" in english(stops[-2].note)


def test_a_ready_job_has_all_its_work_behind_it():
    stops = rail(JobState.READY, [part(1, P.DONE)], [], here(ready_at=START))
    assert now_of(stops) == ["Ready"]
    assert {s.state for s in stops[:-2]} == {StopState.DONE}


def test_a_job_that_went_home_has_everything_behind_it():
    gone = here(ready_at=START, handed_back_at=START + timedelta(days=3))
    stops = rail(JobState.HANDED_BACK, [part(1, P.GONE)], [], gone)
    assert {s.state for s in stops} == {StopState.DONE}
    assert stops[-1].at == gone.handed_back_at


def test_a_job_that_did_not_come_says_what_to_do():
    stops = rail(JobState.NOT_BROUGHT, [part()], [], dates())
    assert "call us" in english(stops[1].note)


plans = st.builds(PartPlan, st.booleans(), st.integers(1, 3), st.booleans())


@given(st.lists(st.tuples(plans, st.integers(0, 12)), min_size=1, max_size=5))
def test_whatever_the_parts_do_there_is_exactly_one_now_and_done_stands_before_it(told):
    parts = []
    for number, (plan, steps) in enumerate(told, 1):
        stage, coats = P.PREP, 0
        for _ in range(steps):
            following = next_stage(stage, plan, coats)
            if following is None or following is P.GONE:
                break
            coats += stage is P.CURE
            stage = following
        parts.append(part(number, stage, plan.coats, coats, plan.strip, plan.refit))
    states = [s.state for s in rail(JobState.IN_WORK, parts, [], here())]
    assert states.count(StopState.NOW) == 1
    first = states.index(StopState.NOW)
    assert set(states[:first]) == {StopState.DONE}
    assert set(states[first + 1 :]) <= {StopState.NEXT}


def test_a_job_whose_parts_are_not_known_is_shown_the_plain_way():
    titles = [english(stop.title) for stop in rail(JobState.BOOKED, [], [], dates())]
    assert titles == [
        "Booked",
        "Drop-off",
        "Prep",
        "Blast",
        "Coat",
        "Inspect",
        "Ready",
        "Collected",
    ]
