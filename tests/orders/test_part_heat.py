"""Every load of a part counts for what it was; nothing goes beyond the limit without a leave."""

import pytest
import sqlalchemy as sa

from portal.craft.bakes import Bake
from portal.craft.heat_sum import Baked, heat_sum
from portal.orders.kernel.errors import Already, Refused
from portal.orders.office.heat_leaves import record_leave
from portal.orders.production import floor, oven
from portal.orders.production.oven_rules import NeedsYes
from portal.orders.production.part_heat import heat_of_part, heat_said
from portal.shop.faults import Fault
from portal.shop.route import PartStage
from portal.store.tables import Move, OvenLoad, OvenLoadPart, Part
from tests.factories import TWO_COATS, WHEELS, a_booked_job, a_job_at, a_token, bake, stages
from tests.readers import english, refusing

STEEL = {**WHEELS, "metal": "steel", "build": "steel"}
UNKNOWN = {**WHEELS, "metal": "unknown", "build": "unknown"}
LIMIT = 45


def start(unit, part_ids, heat: int = 180, minutes: int = 15, yes=()) -> int:
    return oven.start_load(
        unit,
        part_ids,
        set_point_c=heat,
        minutes=minutes,
        said_yes=yes,
        once_token=a_token(),
        who=None,
    )


def heat_of(unit, part_id: int):
    with unit.read() as session:
        return heat_of_part(session, unit.shop(session), part_id, unit.now())


def mass_of(unit, part_id: int) -> float:
    with unit.read() as session:
        return session.get_one(Part, part_id).work["mass_kg"]


def add_load(unit, part_id: int, heat: int, minutes: int) -> None:
    """A load as an older form kept it, started and closed to the minute."""

    def work(session) -> None:
        load = OvenLoad(
            set_point_c=heat,
            minutes=minutes,
            started_at=unit.now(),
            closed_at=unit.now(),
            baked_min=minutes,
        )
        session.add(load)
        session.flush()
        session.add(OvenLoadPart(load_id=load.id, part_id=part_id, coat=1))

    unit.write(work)


def baked_in_time(unit, clock, job, coats: int) -> None:
    """Bake the first part of a job as planned, coat by coat, on the clock."""
    one = job.part_ids[:1]
    for coat in range(coats):
        if coat:
            floor.move_on(unit, one, to=PartStage.CURE, who=None)
        minutes = 15 if coat + 1 == coats else 8
        load = start(unit, one, minutes=minutes)
        clock.advance(minutes=minutes)
        oven.close_load(unit, load, who=None)


def test_a_load_counts_with_its_warming_up_and_the_planned_pre_bake(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    one = job.part_ids[0]
    assert heat_of(unit, one).so_far == 0
    load = start(unit, job.part_ids)
    clock.advance(minutes=15)
    oven.close_load(unit, load, who=None)
    found = heat_of(unit, one)
    # nobody recorded the pre-bake that the plan asks for: it counts as done
    assert [(stay.load, stay.bake) for stay in found.stays] == [
        (None, Bake.PRE_BAKE),
        (load, Bake.CURE),
    ]
    real = [Baked(180, 20), Baked(180, 15)]
    assert found.so_far == heat_sum(real, mass_of(unit, one))
    assert found.limit == LIMIT
    assert found.left == pytest.approx(LIMIT - found.so_far)


def test_an_early_close_counts_the_real_minutes(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    load = start(unit, job.part_ids)
    clock.advance(minutes=6)
    closed = oven.close_load(unit, load, early_because="burner fault", who=None)
    assert [stay.minutes for stay in heat_of(unit, job.part_ids[0]).stays] == [20, 6]
    assert "15 min planned" in english(closed.remarks[0])


def test_an_open_load_counts_what_is_planned_or_the_time_so_far(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    start(unit, job.part_ids)
    clock.advance(minutes=5)
    assert heat_of(unit, job.part_ids[0]).stays[-1].minutes == 15
    clock.advance(minutes=25)
    assert heat_of(unit, job.part_ids[0]).stays[-1].minutes == 30
    assert heat_of(unit, job.part_ids[0]).stays[-1].running


def test_a_load_that_was_forgotten_open_counts_what_is_stated(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    load = start(unit, job.part_ids)
    clock.advance(hours=15)
    for stated in (0, 15 * 60 + 2):
        with pytest.raises(Refused) as caught:
            oven.close_load(unit, load, baked_min=stated, who=None)
        assert caught.value.key == "baked_min"
    with refusing(Refused, "5 more minutes"):
        oven.close_load(unit, load, baked_min=10, who=None)
    assert oven.close_load(unit, load, baked_min=17, who=None).remarks == ()
    assert heat_of(unit, job.part_ids[0]).stays[-1].minutes == 17


def test_a_load_that_was_too_long_is_named_on_closing_and_in_the_log(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE, TWO_COATS)
    load = start(unit, job.part_ids, minutes=8)
    clock.advance(minutes=16)
    closed = oven.close_load(unit, load, who=None)
    assert len(closed.remarks) == 4
    assert english(closed.remarks[0]) == (
        "Tag 101 (180 °C, 8 min planned; 180 °C, 17 min in the oven)"
    )
    with unit.read() as session:
        noted = sa.select(sa.func.count()).where(Move.verb == "baked_otherwise")
        assert session.scalar(noted) == 4


def test_a_part_taken_out_of_a_running_load_keeps_its_heat(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE)
    load = start(unit, job.part_ids)
    clock.advance(minutes=9)
    floor.rework(unit, job.part_ids[0], Fault.ADHESION, "dropped", who=None)
    clock.advance(minutes=6)
    assert oven.close_load(unit, load, who=None).count == 3
    assert [stay.minutes for stay in heat_of(unit, job.part_ids[0]).stays] == [20, 9]
    assert stages(unit, job)[0] is PartStage.BLAST


def test_a_pre_bake_is_a_load_of_its_own_that_moves_nothing(unit, clock) -> None:
    job = a_job_at(unit, PartStage.COAT)
    load = start(unit, job.part_ids, minutes=20)
    with refusing(Refused, "Close the load first"):
        floor.move_on(unit, job.part_ids, to=PartStage.CURE, who=None)
    clock.advance(minutes=20)
    closed = oven.close_load(unit, load, who=None)
    assert (closed.count, closed.moved) == (4, False)
    assert stages(unit, job) == [PartStage.COAT] * 4
    with pytest.raises(Already):
        oven.close_load(unit, load, who=None)
    floor.move_on(unit, job.part_ids, to=PartStage.CURE, who=None)
    bake(unit, job.part_ids)
    stays = heat_of(unit, job.part_ids[0]).stays
    assert [stay.bake for stay in stays] == [Bake.PRE_BAKE, Bake.CURE]
    assert stays[0].load == load


def test_no_scan_takes_a_part_out_of_the_oven(unit) -> None:
    job = a_job_at(unit, PartStage.COAT)
    start(unit, job.part_ids, minutes=20)
    with refusing(Refused, "Close the load first"):
        floor.scan_part(unit, "101", PartStage.CURE, scan_id="kept-on-a-phone", who=None)
    assert stages(unit, job) == [PartStage.COAT] * 4


def test_a_load_beyond_the_limit_is_refused_naming_part_and_figures(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    add_load(unit, job.part_ids[1], 200, 30)
    with refusing(Refused, r"too much heat.*Tag 102 \(43 so far, 48 with it, limit 45\)") as caught:
        start(unit, job.part_ids)
    assert "Tag 101" not in english(caught.value.sentence)
    assert caught.value.key == "heat"
    start(unit, [job.part_ids[0], *job.part_ids[2:]])


def test_the_load_of_the_outside_check_is_refused(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    with refusing(Refused, "Enter less heat"):
        start(unit, job.part_ids, heat=230, minutes=180)


def test_steel_has_no_limit_but_what_the_oven_and_the_powder_bear(unit) -> None:
    job = a_job_at(unit, PartStage.CURE, STEEL)
    add_load(unit, job.part_ids[0], 230, 180)
    assert heat_of(unit, job.part_ids[0]).limit is None
    with refusing(Refused, "our oven reaches 230"):
        start(unit, job.part_ids, heat=231)
    start(unit, job.part_ids)


def test_a_metal_that_nobody_knows_counts_as_aluminium(unit) -> None:
    job = a_booked_job(unit, UNKNOWN)
    add_load(unit, job.part_ids[0], 200, 60)
    found = heat_of(unit, job.part_ids[0])
    assert (found.limit, found.left) == (LIMIT, 0)
    assert not found.bears(Baked(180, 15))


def test_six_reworks_of_a_wheel_with_two_coats_do_not_pass(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE, TWO_COATS)
    one, passed = job.part_ids[0], 0
    baked_in_time(unit, clock, job, coats=2)
    with refusing(Refused, r"too much heat.*Tag 101 \(\d\d so far, \d\d with it, limit 45\)"):
        while passed < 6:
            floor.rework(unit, one, Fault.ADHESION, who=None)
            passed += 1
            floor.move_on(unit, [one], to=PartStage.COAT, who=None)
            floor.move_on(unit, [one], to=PartStage.CURE, who=None)
            baked_in_time(unit, clock, job, coats=2)
    found = heat_of(unit, one)
    each = heat_sum([Baked(180, 8), Baked(180, 15)], mass_of(unit, one))
    assert found.so_far <= LIMIT < found.so_far + each
    assert 1 <= passed < 6
    assert stages(unit, job)[0] is PartStage.INSPECT
    leave(unit, one, up_to=60)
    floor.rework(unit, one, Fault.ADHESION, who=None)


def test_a_longer_bake_needs_a_yes_for_each_part_and_is_written_down(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    with pytest.raises(NeedsYes) as caught:
        start(unit, job.part_ids, minutes=18, yes=job.part_ids[:3])
    assert [one.part_id for one in caught.value.remarks] == [job.part_ids[3]]
    start(unit, job.part_ids, minutes=18, yes=job.part_ids)
    with unit.read() as session:
        agreed = session.scalars(sa.select(Move.part_id).where(Move.verb == "baked_despite"))
        assert sorted(agreed) == sorted(job.part_ids)


def test_a_gelled_base_coat_never_gets_a_full_cure(unit) -> None:
    job = a_job_at(unit, PartStage.CURE, TWO_COATS)
    with refusing(Refused, "must not cure fully"):
        start(unit, job.part_ids, minutes=15, yes=job.part_ids)
    start(unit, job.part_ids, minutes=8)


def test_a_load_that_leaves_no_room_for_the_next_coat_is_named(unit) -> None:
    job = a_job_at(unit, PartStage.CURE, TWO_COATS)
    add_load(unit, job.part_ids[0], 200, 28)
    with pytest.raises(NeedsYes) as caught:
        start(unit, job.part_ids[:1], minutes=8)
    assert "the coats that are still to come" in english(caught.value.remarks[0].says)
    start(unit, job.part_ids[:1], minutes=8, yes=job.part_ids[:1])


def leave(unit, part_id: int, up_to: int = 60, maker: str = "By letter, 3 March", why="Rework"):
    return record_leave(
        unit, part_id, up_to=up_to, maker=maker, why=why, once_token=a_token(), who=None
    )


def test_with_the_makers_leave_a_part_goes_as_far_as_the_maker_said(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    add_load(unit, job.part_ids[0], 200, 30)
    leave(unit, job.part_ids[0], up_to=60)
    found = heat_of(unit, job.part_ids[0])
    assert (found.limit, found.shop_limit, found.leave.maker) == (60, LIMIT, "By letter, 3 March")
    start(unit, job.part_ids[:1])
    assert heat_of(unit, job.part_ids[1]).leave is None


@pytest.mark.parametrize(
    ("told", "key"),
    [
        ({"up_to": LIMIT}, "up_to"),
        ({"up_to": 5000}, "up_to"),
        ({"maker": "  "}, "maker"),
        ({"why": ""}, "why"),
        ({"why": "x" * 301}, "why"),
    ],
)
def test_a_leave_says_who_why_and_how_far(unit, told, key) -> None:
    job = a_job_at(unit, PartStage.CURE)
    with pytest.raises(Refused) as caught:
        leave(unit, job.part_ids[0], **told)
    assert caught.value.key == key


def test_steel_needs_no_leave(unit) -> None:
    job = a_job_at(unit, PartStage.CURE, STEEL)
    with refusing(Refused, "needs no leave"):
        leave(unit, job.part_ids[0])


def test_a_load_that_was_started_and_closed_before_purposes_were_kept_counts_too(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    add_load(unit, job.part_ids[0], 180, 15)
    stays = heat_of(unit, job.part_ids[0]).stays
    assert [(stay.bake, stay.minutes) for stay in stays] == [(Bake.PRE_BAKE, 20), (Bake.CURE, 15)]


def test_the_customer_is_told_the_sum_and_the_makers_leave(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    assert heat_said(heat_of(unit, job.part_ids[0])) == ()
    add_load(unit, job.part_ids[0], 200, 30)
    leave(unit, job.part_ids[0], up_to=60)
    assert [english(one) for one in heat_said(heat_of(unit, job.part_ids[0]))] == [
        "In the oven so far: as much heat as 43 minutes at 200 °C. Our limit is 45.",
        "The maker allows up to 60 minutes at 200 °C: By letter, 3 March.",
    ]
    steel = a_job_at(unit, PartStage.CURE, STEEL, first_tag=111)
    add_load(unit, steel.part_ids[0], 200, 30)
    assert heat_said(heat_of(unit, steel.part_ids[0])) == ()
