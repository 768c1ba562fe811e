"""What may follow what in the life of a part and of a job."""

import itertools

import pytest

from portal.shop.moves import JOB_MOVES, JobState
from portal.shop.route import BARED, ON_THE_FLOOR, STATIONS, PartPlan, PartStage, next_stage
from portal.shop.verbs import EventVerb


def walk(plan: PartPlan) -> list[PartStage]:
    stage, coats, way = PartStage.EXPECTED, 0, []
    while (after := next_stage(stage, plan, coats)) is not None:
        coats += stage is PartStage.CURE
        stage = after
        way.append(stage)
    return way


@pytest.mark.parametrize(
    ("strip", "coats", "refit"),
    list(itertools.product([True, False], [1, 2, 3], [True, False])),
)
def test_a_part_passes_the_stages_of_its_plan_and_ends_handed_back(strip, coats, refit) -> None:
    plan = PartPlan(strip=strip, coats=coats, refit=refit)
    assert walk(plan) == [*plan.stages(), PartStage.GONE]


def test_two_coats_are_coated_and_cured_twice() -> None:
    way = walk(PartPlan(strip=False, coats=2, refit=False))
    assert way.count(PartStage.COAT) == way.count(PartStage.CURE) == 2
    assert way.index(PartStage.CURE) == way.index(PartStage.COAT) + 1


def test_rework_starts_where_a_fault_can_be_seen() -> None:
    assert BARED is PartStage.BLAST
    assert {stage for stage in PartStage if stage.may_be_reworked} == {
        PartStage.COAT,
        PartStage.CURE,
        PartStage.INSPECT,
        PartStage.REFIT,
        PartStage.DONE,
    }


def test_every_station_has_the_words_that_pages_show() -> None:
    for stage in ON_THE_FLOOR:
        assert stage.row.button, f"{stage}: what does the button say that moves parts there?"
    for stage in STATIONS:
        assert stage.stop.row.customer, f"{stage}: what does the customer read meanwhile?"


def test_a_job_that_ended_moves_no_more() -> None:
    for ended in (JobState.CALLED_OFF, JobState.TURNED_AWAY):
        assert all(ended not in sources for sources, _ in JOB_MOVES.values())


def test_a_hand_back_is_only_taken_back() -> None:
    verbs = [verb for verb, (sources, _) in JOB_MOVES.items() if JobState.HANDED_BACK in sources]
    assert verbs == [EventVerb.HAND_BACK_UNDONE]
    assert JOB_MOVES[EventVerb.HAND_BACK_UNDONE][1] is JobState.READY


def test_every_state_can_be_reached_from_booked() -> None:
    reached = {JobState.BOOKED}
    for _ in JobState:
        reached |= {to for sources, to in JOB_MOVES.values() if sources & reached}
    assert reached == set(JobState)
