"""Oven loads are started with set point and time, closed, and kept."""

import pytest
import sqlalchemy as sa

from portal.orders.kernel.errors import Already, Refused
from portal.orders.production import floor, oven
from portal.shop.faults import Fault
from portal.shop.route import PartStage
from portal.store.tables import OvenLoad, OvenLoadPart, Part
from tests.factories import TWO_COATS, WHEELS, a_job_at, a_token, stages
from tests.readers import refusing


def start(unit, part_ids, *, heat: int = 180, minutes: int = 15, token: str = "") -> int:
    return oven.start_load(
        unit,
        part_ids,
        set_point_c=heat,
        minutes=minutes,
        once_token=token or a_token(),
        who=None,
    )


def test_a_load_moves_its_parts_on_when_its_time_is_over(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    load = start(unit, job.part_ids)
    assert stages(unit, job) == [PartStage.CURE] * 4
    clock.advance(minutes=15)
    assert oven.close_load(unit, load, who=None).count == 4
    assert stages(unit, job) == [PartStage.INSPECT] * 4


def test_the_record_tells_who_lay_in_it_and_which_coat_was_cured(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE, TWO_COATS)
    load = start(unit, job.part_ids, minutes=8)
    clock.advance(minutes=8)
    oven.close_load(unit, load, who=None)
    assert stages(unit, job) == [PartStage.COAT] * 4
    floor.move_on(unit, job.part_ids, to=PartStage.CURE, who=None)
    second = start(unit, job.part_ids)
    with unit.read() as session:
        rows = session.execute(
            sa.select(OvenLoadPart.load_id, OvenLoadPart.coat).order_by(OvenLoadPart.load_id)
        ).all()
        kept = session.get(OvenLoad, load)
    assert {tuple(row) for row in rows} == {(load, 1), (second, 2)}
    assert (kept.set_point_c, kept.minutes, kept.closed_at) == (180, 8, clock.now())


def test_a_load_is_not_closed_before_its_time_without_a_reason(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    load = start(unit, job.part_ids)
    clock.advance(minutes=10)
    with refusing(Refused, "5 more minutes") as caught:
        oven.close_load(unit, load, who=None)
    assert caught.value.key == "early_because"
    assert oven.close_load(unit, load, early_because="burner fault", who=None).count == 4


def test_a_load_is_closed_once(unit, clock) -> None:
    load = start(unit, a_job_at(unit, PartStage.CURE).part_ids)
    clock.advance(minutes=15)
    oven.close_load(unit, load, who=None)
    with pytest.raises(Already):
        oven.close_load(unit, load, who=None)


def test_a_double_press_starts_one_load(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    first = start(unit, job.part_ids, token="one-button")
    assert start(unit, job.part_ids, token="one-button") == first


def test_a_part_lies_in_one_load_at_a_time(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    load = start(unit, job.part_ids[:2])
    with refusing(Refused, f"is in load {load} already"):
        start(unit, job.part_ids)


def test_a_part_that_is_not_coated_does_not_go_in(unit) -> None:
    job = a_job_at(unit, PartStage.BLAST)
    with refusing(Refused, r"”, so it can't go in the oven\."):
        start(unit, job.part_ids)


@pytest.mark.parametrize(
    ("heat", "minutes", "key"),
    [
        (150, 15, "set_point_c"),
        (300, 15, "set_point_c"),
        (180, 5, "minutes"),
        (180, 500, "minutes"),
    ],
)
def test_a_cure_below_what_the_powder_needs_is_refused(unit, heat, minutes, key) -> None:
    job = a_job_at(unit, PartStage.CURE)
    with pytest.raises(Refused) as caught:
        start(unit, job.part_ids, heat=heat, minutes=minutes)
    assert caught.value.key == key


def test_parts_in_a_running_load_are_not_moved_by_hand(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    start(unit, job.part_ids)
    with refusing(Refused, "Close the load first"):
        floor.move_on(unit, job.part_ids, to=PartStage.INSPECT, who=None)


def test_a_coated_part_does_not_get_past_the_oven_by_hand(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    with refusing(Refused, r"in an oven load first\."):
        floor.move_on(unit, job.part_ids, to=PartStage.INSPECT, who=None)


def test_a_part_sent_for_rework_leaves_the_running_load(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    load = start(unit, job.part_ids)
    floor.rework(unit, job.part_ids[0], Fault.ADHESION, "dropped", who=None)
    clock.advance(minutes=15)
    assert oven.close_load(unit, load, who=None).count == 3
    assert stages(unit, job)[0] is PartStage.BLAST


def test_more_than_the_oven_holds_is_refused(unit) -> None:
    jobs = [
        a_job_at(unit, PartStage.CURE, {**WHEELS, "count": 20}, first_tag=101 + 20 * n)
        for n in range(2)
    ]
    everything = [part for job in jobs for part in job.part_ids]
    with refusing(Refused, r"% of the oven\. Leave some for the next load\."):
        start(unit, everything)
    with unit.read() as session:
        assert session.scalar(sa.select(sa.func.count()).select_from(OvenLoad)) == 0
        assert session.get(Part, everything[0]).stage is PartStage.CURE
