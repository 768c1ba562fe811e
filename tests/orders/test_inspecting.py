"""Readings are typed or come from a gauge; the shop's rule accepts them or not."""

import pytest
import sqlalchemy as sa

from portal.orders.kernel.errors import Refused
from portal.orders.kernel.work_card import Card
from portal.orders.production import inspecting
from portal.orders.production.floor import rework
from portal.orders.production.inspecting import Looked, inspect, judge, judge_all
from portal.orders.production.readings import one_more, read_readings
from portal.shop.faults import Fault
from portal.shop.route import PartStage
from portal.shop.works import InspectionRule
from portal.store.tables import Inspection
from tests.factories import a_job_at, a_token, events, stages
from tests.readers import refusing

GOOD = (82.0, 68.0, 75.0, 93.0, 86.0)  # example 1 of the quality label, minimum 60 (from memory)


def spots(values) -> tuple[tuple[float, ...], ...]:
    """Three readings at each spot, whose mean is the value."""
    return tuple((value, value - 1, value + 1) for value in values)


def look(unit, part_id: int, values=GOOD, **seen):
    looked = Looked(**{"looks_good": True, **seen})
    return inspect(unit, part_id, spots(values), looked=looked, once_token=a_token(), who=None)


THREES = ((82.0, 68.0, 75.0), (93.0, 86.0, 80.0))


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("82 68 75 93 86 80", THREES),
        ("82\n68\r\n75\n93\n86\n80\n", THREES),
        ("82,68,75,93,86,80", THREES),
        ("82, 68, 75\n93, 86, 80", THREES),
        ("82 µm; 68; 75; 93; 86; 80", THREES),
        ("82 68 75 93\n86 80 81", ((82.0, 68.0, 75.0, 93.0), (86.0, 80.0, 81.0))),
        ("82 68 75\n93", ((82.0, 68.0, 75.0), (93.0,))),
        ("82.5 68,5", ((82.5, 68.5),)),
        ("", ()),
        ("  \n ", ()),
    ],
)
def test_readings_are_read_as_people_and_gauges_type_them(typed, read) -> None:
    assert read_readings(typed) == read


def test_a_gauge_fills_spot_after_spot() -> None:
    typed = ""
    for n in range(1, 8):
        typed = one_more(typed, str(70 + n))
    assert typed == "71 72 73\n74 75 76\n77"
    assert [len(spot) for spot in read_readings(typed)] == [3, 3, 1]


@pytest.mark.parametrize("typed", ["82 x 75", "82 -5", "82 🛞", "1e3", "99999", "0", "3000"])
def test_what_is_no_reading_is_named(typed) -> None:
    with pytest.raises(Refused) as caught:
        read_readings(typed)
    assert caught.value.key == "readings"


def test_too_many_readings_are_refused() -> None:
    with refusing(Refused, "at most 200"):
        read_readings("80 " * 201)


# the four examples of the quality label for coated aluminium, §2.3 (from memory)
@pytest.mark.parametrize(
    ("values", "accepted"),
    [
        ((82, 68, 75, 93, 86), True),
        ((75, 68, 63, 66, 56), True),
        ((57, 60, 59, 62, 53), False),
        ((85, 67, 71, 64, 44), False),
    ],
)
def test_the_shop_rule_judges_against_the_film_of_the_plan(values, accepted) -> None:
    card = Card(film_um=(60, 90))
    assert judge(spots(values), card, InspectionRule.QUALITY_LABEL).accepted is accepted


@pytest.mark.parametrize("rule", InspectionRule)
def test_a_spot_with_two_readings_is_refused(rule) -> None:
    measured = (*spots(GOOD)[:4], (80.0, 81.0))
    with refusing(Refused, "Spot 5 has 2 readings"):
        judge(measured, Card(film_um=(60, 90)), rule)


@pytest.mark.parametrize("rule", InspectionRule)
def test_a_large_part_is_measured_at_more_spots(rule) -> None:
    card = Card(film_um=(60, 90), area_m2=12.5)
    with refusing(Refused, "Measure 10 spots"):
        judge(spots(GOOD), card, rule)
    assert judge(spots([75.0] * 10), card, rule).accepted


def test_an_accepted_part_moves_on(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    done = look(unit, job.part_ids[0])
    assert done.accepted
    assert done.stage is PartStage.DONE
    assert stages(unit, job) == [PartStage.DONE] + [PartStage.INSPECT] * 3
    assert len(events(unit, job, "inspect")) == 1


def test_a_thin_film_is_recorded_and_the_part_stays(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    done = look(unit, job.part_ids[0], (85.0, 67.0, 71.0, 64.0, 44.0))
    assert not done.accepted
    assert done.stage is PartStage.INSPECT
    with unit.read() as session:
        row = session.scalars(sa.select(Inspection)).one()
    assert (row.accepted, row.readings_um[-1], row.rule) == (
        False,
        [44.0, 43.0, 45.0],
        "quality_label",
    )
    assert done.fault is Fault.THIN


def test_a_good_film_does_not_save_a_part_that_looks_bad(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    assert not look(unit, job.part_ids[0], looks_good=False).accepted


def test_adhesion_and_gloss_are_kept_with_the_inspection(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    done = look(unit, job.part_ids[0], adhesion_class=0, gloss_gu=45)
    assert done.accepted
    with unit.read() as session:
        row = session.scalars(sa.select(Inspection)).one()
    assert (row.adhesion_class, row.gloss_gu) == (0, 45)


@pytest.mark.parametrize(
    ("seen", "fault"),
    [
        ({"adhesion_class": 1}, Fault.ADHESION),
        ({"gloss_gu": 88}, Fault.GLOSS),
        ({"gloss_gu": 88, "adhesion_class": 3}, Fault.ADHESION),
        ({"looks_good": False}, None),
    ],
)
def test_what_is_measured_beside_the_film_counts(unit, seen, fault) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    done = look(unit, job.part_ids[0], **seen)
    assert (done.accepted, done.fault) == (False, fault)


def test_a_cross_cut_class_is_not_taken_for_a_textured_coat() -> None:
    card = Card(film_um=(60, 90), textured=True)
    verdict = judge(spots(GOOD), card, InspectionRule.SPOT)
    with refusing(Refused, "not for textured coatings"):
        judge_all(verdict, card, Looked(looks_good=True, adhesion_class=0))


def test_too_few_readings_are_refused_and_nothing_is_recorded(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    with pytest.raises(Refused) as caught:
        look(unit, job.part_ids[0], (80.0, 81.0))
    assert caught.value.key == "readings"
    with unit.read() as session:
        assert session.scalars(sa.select(Inspection)).all() == []


def test_a_part_that_is_not_there_to_be_inspected_is_refused(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    with refusing(Refused, r"”, so you can't inspect it now\."):
        look(unit, job.part_ids[0])


def test_an_inspection_from_before_a_rework_no_longer_counts(unit, clock) -> None:
    job = a_job_at(unit, PartStage.DONE)
    clock.advance(minutes=5)
    rework(unit, job.part_ids[0], Fault.CHIPPED, who=None)
    with unit.read() as session:
        latest = inspecting.latest(session, job.part_ids)
    assert job.part_ids[0] not in latest
    assert set(latest) == set(job.part_ids[1:])


def test_a_reworked_part_is_inspected_again(unit, clock) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    first = job.part_ids[0]
    for part_id in job.part_ids[1:]:
        look(unit, part_id)
    rework(unit, first, Fault.RUN, who=None)
    clock.advance(hours=3)
    only = type(job)(job.job_id, job.code, job.token, job.pickup_code, (first,))
    for stage in (PartStage.CURE,):
        from portal.orders.production.floor import move_on

        move_on(unit, (first,), to=stage, who=None)
    from portal.orders.production.oven import close_load, start_load

    load = start_load(unit, (first,), set_point_c=180, minutes=15, once_token=a_token(), who=None)
    close_load(unit, load, early_because="test", who=None)
    assert look(unit, first).accepted
    assert set(stages(unit, only)) == {PartStage.DONE}
