"""A part goes back to where its fault is put right, with the coats that it keeps."""

from dataclasses import replace

import pytest
import sqlalchemy as sa

from portal.orders.kernel.errors import Already, Refused
from portal.orders.kernel.reworks import last_reworks, reworks_of
from portal.orders.production import board_view, floor
from portal.shop.faults import Fault, faults_for
from portal.shop.route import PartPlan, PartStage
from portal.store.tables import Move, OvenLoadPart, Part
from tests.factories import PAINTED, TWO_COATS, WHEELS, a_job_at, bring_to, events, stages
from tests.readers import english, refusing


@pytest.mark.parametrize(
    ("fault", "order", "to", "coats_done"),
    [
        (Fault.THIN, WHEELS, PartStage.COAT, 0),
        (Fault.THIN, TWO_COATS, PartStage.COAT, 1),  # one more top coat, not the base again
        (Fault.RUN, TWO_COATS, PartStage.COAT, 1),
        (Fault.SOFT, TWO_COATS, PartStage.CURE, 1),
        (Fault.ADHESION, WHEELS, PartStage.BLAST, 0),
        (Fault.ADHESION, PAINTED, PartStage.STRIP, 0),
        (Fault.WAITED, PAINTED, PartStage.BLAST, 0),
    ],
)
def test_rework_begins_where_the_fault_is_put_right(unit, fault, order, to, coats_done) -> None:
    job = a_job_at(unit, PartStage.INSPECT, order)
    moved = floor.rework(unit, job.part_ids[0], fault, "on the barrel", who=None)
    assert moved.now is to
    event = events(unit, job, "rework")[0]
    assert (event.note, event.data["fault"]) == ("on the barrel", fault)
    assert english(event.says) == f"{fault.title}: on the barrel"
    with unit.read() as session:
        part = session.get(Part, job.part_ids[0])
        assert (part.reworks, part.coats_done) == (1, coats_done)


def test_a_further_coat_ends_at_inspection_again(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT, TWO_COATS)
    first = job.part_ids[0]
    floor.rework(unit, first, Fault.THIN, who=None)
    only = replace(job, part_ids=(first,))
    bring_to(unit, only, PartStage.INSPECT)
    with unit.read() as session:
        coats = session.scalars(
            sa.select(OvenLoadPart.coat).where(OvenLoadPart.part_id == first)
        ).all()
    assert sorted(coats) == [1, 2, 2]


def test_a_fault_seen_before_the_cure_leaves_the_coats_below_as_they_are(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    floor.rework(unit, job.part_ids[0], Fault.DIRT, who=None)
    with unit.read() as session:
        part = session.get(Part, job.part_ids[0])
        assert (part.stage, part.coats_done) == (PartStage.COAT, 0)


def test_a_fault_of_the_station_itself_needs_no_rework(unit) -> None:
    job = a_job_at(unit, PartStage.COAT)
    with refusing(Already, "already at"):
        floor.rework(unit, job.part_ids[0], Fault.THIN, who=None)


def test_an_undone_rework_is_none(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    first = job.part_ids[0]
    floor.rework(unit, first, Fault.RUN, who=None)
    floor.take_back(unit, {first: PartStage.COAT}, who=None)
    with unit.read() as session:
        assert reworks_of(session, [first]) == []
        part = session.get(Part, first)
        assert (part.stage, part.coats_done, part.reworks) == (PartStage.INSPECT, 1, 0)


def test_the_board_tells_the_next_hands_what_to_do(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    floor.rework(unit, job.part_ids[0], Fault.RUN, "inner lip", who=None)
    (group,) = [
        group
        for column in board_view.floor(unit)
        for group in column.groups
        if group.stage is PartStage.COAT
    ]
    back = group.parts[0].back
    assert english(back.says) == "Run or sag: inner lip"
    assert english(back.how).startswith("Rub the fault down")
    floor.move_on(unit, job.part_ids[:1], to=PartStage.CURE, who=None)
    with unit.read() as session:
        (group,) = board_view.groups_in(session)[PartStage.CURE]
    assert group.parts[0].back.how is None


def test_another_fault_needs_words(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    with pytest.raises(Refused) as caught:
        floor.rework(unit, job.part_ids[0], Fault.OTHER, "  ", who=None)
    assert caught.value.key == "words"


def test_after_rework_parts_go_on_by_scan(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    floor.rework(unit, job.part_ids[0], Fault.RUN, who=None)
    floor.scan_part(unit, "101", PartStage.CURE, scan_id="scan-0001", who=None)
    assert stages(unit, job)[0] is PartStage.CURE


def test_a_rework_from_before_the_list_of_faults_still_tells_its_reason(unit) -> None:
    job = a_job_at(unit, PartStage.BLAST)
    first = job.part_ids[0]

    def as_before(session) -> None:
        session.add(
            Move(
                job_id=job.job_id,
                part_id=first,
                verb="rework",
                from_="inspect",
                to="blast",
                at=unit.now(),
                note="a run",
                data={"before": {"coats_done": 1, "reworks": 0}},
            )
        )

    unit.write(as_before)
    with unit.read() as session:
        one = last_reworks(session, [first])[first]
    assert (one.fault, english(one.says)) == (None, "a run")


@pytest.mark.parametrize("strip", [True, False])
@pytest.mark.parametrize("coats", [1, 2, 3])
def test_every_fault_leads_back_over_the_route_of_the_part(strip, coats) -> None:
    plan = PartPlan(strip=strip, coats=coats, refit=False)
    for stage in PartStage:
        for fault in faults_for(stage, plan):
            target = fault.target(plan)
            assert target.is_before(stage)
            assert target in plan.stages()
    assert set(faults_for(PartStage.INSPECT, plan)) == set(Fault)
    assert not faults_for(PartStage.PREP, plan)
