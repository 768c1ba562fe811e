"""Checks: what is open stops the parts, what was found is put to the customer, the office decides.

Every move is tried: by tap, by scan, by the kept scans of a phone, into a strip run, into the oven.
"""

import pytest
import sqlalchemy as sa

from portal.craft.check_kinds import CheckKind
from portal.craft.parts import Metal
from portal.orders.counter import check_in, checks, findings
from portal.orders.counter.checks_view import groups_of
from portal.orders.kernel.checks import CheckOpen
from portal.orders.kernel.errors import Already, Refused
from portal.orders.production import floor, oven, strip_runs
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import Arrival, FindingAnswer
from portal.store.tables import Job, Part, PartCheck
from tests.factories import (
    PAINTED,
    WHEELS,
    Booked,
    a_booked_job,
    a_job_at,
    a_job_in_work,
    a_token,
    bring_to,
    events,
    last_event_id,
    stages,
    state,
)
from tests.orders.checked import BENT, OLD, UNKNOWN_METAL, answer, lines, record, the_finding
from tests.readers import english


def test_work_does_not_start_before_the_test_for_lead(unit) -> None:
    job = a_job_in_work(unit, order=OLD)
    assert state(unit, job) is JobState.RECEIVED
    with pytest.raises(CheckOpen, match="test for lead"):
        check_in.start(unit, job.job_id, who=None)
    with pytest.raises(Refused):
        floor.move_on(unit, job.part_ids, to=PartStage.BLAST, who=None)
    record(unit, job, CheckKind.LEAD, "clear", job.part_ids[:3])
    assert state(unit, job) is JobState.RECEIVED
    record(unit, job, CheckKind.LEAD, "clear", job.part_ids[3:])
    assert state(unit, job) is JobState.IN_WORK
    floor.move_on(unit, job.part_ids, to=PartStage.BLAST, who=None)


def test_a_test_that_is_done_at_the_door_lets_work_start_at_once(unit) -> None:
    job = a_booked_job(unit, order=OLD)
    record(unit, job, CheckKind.LEAD, "clear")
    bring_in(unit, job)
    assert state(unit, job) is JobState.IN_WORK


def bring_in(unit, job: Booked) -> None:
    check_in.as_declared(unit, job.job_id, who=None)
    for n in range(len(job.part_ids)):
        check_in.give_tag(unit, job.job_id, str(101 + n), who=None)
    check_in.receive(
        unit, job.job_id, expected_event_id=last_event_id(unit, job), once_token=a_token(), who=None
    )


def test_a_tap_and_a_scan_into_a_closed_station_are_refused_with_the_open_line(unit) -> None:
    job = a_job_in_work(unit, UNKNOWN_METAL)
    with pytest.raises(CheckOpen) as tap:
        floor.move_on(unit, job.part_ids, to=PartStage.BLAST, who=None)
    assert english(tap.value.sentence).startswith("Nobody has checked the metal of part 1 yet.")
    assert tap.value.kind is CheckKind.METAL
    with pytest.raises(CheckOpen) as scan:
        floor.scan_part(unit, "102", PartStage.BLAST, scan_id="one", who=None)
    assert "Tag 102" in english(scan.value.sentence)
    assert "metal of part 2" in english(scan.value.sentence)
    assert scan.value.part_id == job.part_ids[1]
    assert set(stages(unit, job)) == {PartStage.PREP}


def test_a_strip_run_takes_no_part_with_an_open_line(unit, clock) -> None:
    job = a_job_in_work(unit, {**UNKNOWN_METAL, "layers": ["factory_paint"]})
    today = clock.now().date()
    run = strip_runs.open_run(unit, today, today, who=None)
    with pytest.raises(CheckOpen, match="metal"):
        strip_runs.gather(unit, run, "101", who=None)
    record(unit, job, CheckKind.METAL, "aluminium")
    strip_runs.gather(unit, run, "101", who=None)
    assert stages(unit, job)[0] is PartStage.STRIP


def test_a_run_does_not_leave_with_a_part_whose_line_was_opened_again(unit, clock) -> None:
    job = a_job_in_work(unit, {**PAINTED}, order=OLD)
    record(unit, job, CheckKind.LEAD, "clear")
    today = clock.now().date()
    run = strip_runs.open_run(unit, today, today, who=None)
    strip_runs.gather(unit, run, "101", who=None)
    checks.override_check(
        unit, job.job_id, CheckKind.LEAD, job.part_ids[:1], go_on=False, reason="swab was old",
        who=None,
    )  # fmt: skip
    with pytest.raises(CheckOpen, match="lead"):
        strip_runs.send(unit, run, who=None)


def test_the_oven_takes_no_part_with_an_open_line(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    ask_for(unit, job, CheckKind.VENT)
    with pytest.raises(CheckOpen, match="vent holes"):
        oven.start_load(
            unit, job.part_ids, set_point_c=200, minutes=25, once_token=a_token(), who=None
        )


def ask_for(unit, job: Booked, *kinds: CheckKind) -> None:
    """Let the work of a job's parts ask for checks that its order does not."""

    def work(session) -> None:
        for part_id in job.part_ids:
            part = session.get_one(Part, part_id)
            part.work = {**part.work, "checks": list(kinds)}

    unit.write(work)


def test_cracks_are_looked_for_before_the_coat_on_the_damaged_wheel_alone(unit) -> None:
    job = a_job_in_work(unit, BENT)
    record(unit, job, CheckKind.BEND, "within", job.part_ids[:1])
    floor.move_on(unit, job.part_ids, to=PartStage.BLAST, who=None)
    floor.move_on(unit, job.part_ids[1:], to=PartStage.COAT, who=None)
    with pytest.raises(CheckOpen, match="looked for cracks"):
        floor.move_on(unit, job.part_ids[:1], to=PartStage.COAT, who=None)
    record(unit, job, CheckKind.CRACKS, "none", job.part_ids[:1], note="dye used")
    floor.move_on(unit, job.part_ids[:1], to=PartStage.COAT, who=None)
    line = lines(unit, job)[CheckKind.CRACKS, 1]
    assert line.record is not None
    assert line.record.note == "dye used"
    assert (CheckKind.CRACKS, 2) not in lines(unit, job)


def test_lead_becomes_a_finding_with_price_and_days_and_the_job_waits(unit) -> None:
    job = a_job_in_work(unit, {**WHEELS, "metal": "steel", "build": "steel",
                               "layers": ["liquid_paint"]}, order=OLD)  # fmt: skip
    found = record(unit, job, CheckKind.LEAD, "found", job.part_ids[:2])
    assert found["asked"]
    finding = the_finding(unit, job)
    assert "We found lead or chromate in the old finish of 2 wheels" in english(finding.says)
    assert finding.amount_minor > 0
    assert finding.days > 0
    assert state(unit, job) is JobState.WAITING


def test_after_a_yes_parts_with_lead_go_to_the_licensed_company_and_never_to_the_grit(unit) -> None:
    job = a_job_in_work(unit, {**WHEELS, "metal": "steel", "build": "steel",
                               "layers": ["liquid_paint"]}, order=OLD)  # fmt: skip
    record(unit, job, CheckKind.LEAD, "found", job.part_ids[:2])
    record(unit, job, CheckKind.LEAD, "clear", job.part_ids[2:])
    answer(unit, job, yes=True)
    assert state(unit, job) is JobState.IN_WORK
    with unit.read() as session:
        parts = [session.get_one(Part, one) for one in job.part_ids]
        assert [part.needs_strip for part in parts] == [True, True, False, False]
        assert parts[0].work["card"]["route"] == ["licensed", "blast"]
    with pytest.raises(Refused, match="next station"):
        floor.move_on(unit, job.part_ids[:1], to=PartStage.BLAST, who=None)
    floor.move_on(unit, job.part_ids[:2], to=PartStage.STRIP, who=None)


def test_after_a_no_parts_with_lead_stay_where_they_are(unit) -> None:
    job = a_job_in_work(unit, order=OLD)
    record(unit, job, CheckKind.LEAD, "found")
    answer(unit, job, yes=False)
    assert state(unit, job) is JobState.RECEIVED
    with pytest.raises(CheckOpen, match="not agreed"):
        check_in.start(unit, job.job_id, who=None)


def test_a_finding_that_was_a_mistake_opens_the_line_again(unit) -> None:
    job = a_job_in_work(unit, order=OLD)
    record(unit, job, CheckKind.LEAD, "found", job.part_ids[:1])
    findings.withdraw(unit, job.job_id, the_finding(unit, job).id, who=None)
    assert lines(unit, job)[CheckKind.LEAD, 1].open
    with unit.read() as session:
        assert session.get_one(Part, job.part_ids[0]).arrived is Arrival.AS_DECLARED
    record(unit, job, CheckKind.LEAD, "clear")
    assert state(unit, job) is JobState.IN_WORK


def test_the_metal_that_nobody_knew_goes_into_the_order_without_a_question(unit) -> None:
    job = a_job_in_work(unit, UNKNOWN_METAL)
    found = record(unit, job, CheckKind.METAL, "aluminium")
    assert not found["asked"]
    assert the_finding(unit, job).answer is FindingAnswer.ACCEPTED
    assert state(unit, job) is JobState.IN_WORK
    floor.move_on(unit, job.part_ids, to=PartStage.BLAST, who=None)
    line = lines(unit, job)[CheckKind.METAL, 1]
    assert line.record is not None


def test_magnesium_is_put_to_the_customer_and_goes_home(unit) -> None:
    job = a_job_in_work(unit, UNKNOWN_METAL)
    assert record(unit, job, CheckKind.METAL, "magnesium", job.part_ids[3:])["asked"]
    answer(unit, job, yes=True)
    with unit.read() as session:
        assert session.get_one(Part, job.part_ids[3]).arrived is Arrival.TURNED_AWAY
        declared = session.get_one(Job, job.job_id).declared
    assert Metal.MAGNESIUM in {one.get("build") for one in declared["sets"]}


def test_a_bent_wheel_goes_home_uncoated(unit) -> None:
    job = a_job_in_work(unit, BENT)
    record(unit, job, CheckKind.BEND, "bent", job.part_ids[:1], note="2.1 mm")
    finding = the_finding(unit, job)
    assert "out of true" in english(finding.says)
    assert finding.amount_minor < 0
    answer(unit, job, yes=True)
    with unit.read() as session:
        assert session.get_one(Part, job.part_ids[0]).arrived is Arrival.TURNED_AWAY


def test_a_result_is_recorded_once(unit) -> None:
    job = a_job_in_work(unit, order=OLD)
    record(unit, job, CheckKind.LEAD, "clear", job.part_ids[:1])
    with pytest.raises(Already, match="recorded already"):
        record(unit, job, CheckKind.LEAD, "found", job.part_ids[:1])
    with unit.read() as session:
        assert session.scalar(sa.select(sa.func.count()).select_from(PartCheck)) == 1
    assert len(events(unit, job, "check")) == 1


def test_only_lines_that_there_are_can_be_recorded(unit) -> None:
    job = a_job_in_work(unit)
    other = a_booked_job(unit, order=OLD)
    for kind, part_ids in (
        (CheckKind.LEAD, job.part_ids),
        (CheckKind.LEAD, ()),
        (CheckKind.LEAD, (*job.part_ids, *other.part_ids)),
    ):
        with pytest.raises(Refused, match="Choose the parts"):
            checks.record_check(
                unit, job.job_id, kind, "clear", part_ids, once_token=a_token(), who=None
            )


def test_the_office_lets_a_part_go_on_without_a_test_and_says_why(unit) -> None:
    job = a_job_in_work(unit, UNKNOWN_METAL)
    with pytest.raises(Refused, match="reason"):
        checks.override_check(
            unit, job.job_id, CheckKind.METAL, job.part_ids, go_on=True, reason=" ", who=None
        )
    checks.override_check(
        unit, job.job_id, CheckKind.METAL, job.part_ids, go_on=True, reason="maker's papers",
        who=None,
    )  # fmt: skip
    floor.move_on(unit, job.part_ids, to=PartStage.BLAST, who=None)


def test_a_result_that_changed_the_order_is_not_taken_back(unit) -> None:
    job = a_job_in_work(unit, order=OLD)
    record(unit, job, CheckKind.LEAD, "found")
    answer(unit, job, yes=True)
    with pytest.raises(Refused, match="changed by this result"):
        checks.override_check(
            unit, job.job_id, CheckKind.LEAD, job.part_ids, go_on=True, reason="no", who=None
        )


def test_a_job_from_before_checks_were_kept_has_its_lines_open(unit) -> None:
    job = a_job_in_work(unit, UNKNOWN_METAL)

    def forget(session) -> None:
        for part_id in job.part_ids:
            part = session.get_one(Part, part_id)
            part.work = {key: value for key, value in part.work.items() if key != "checks"}

    unit.write(forget)
    assert {kind for kind, _ in lines(unit, job)} == {CheckKind.METAL}
    with pytest.raises(CheckOpen, match="metal"):
        floor.move_on(unit, job.part_ids, to=PartStage.BLAST, who=None)
    record(unit, job, CheckKind.METAL, "aluminium")
    floor.move_on(unit, job.part_ids, to=PartStage.BLAST, who=None)


def test_a_known_job_meets_no_check_on_its_whole_way(unit) -> None:
    job = a_job_in_work(unit)
    assert lines(unit, job) == {}
    bring_to(unit, job, PartStage.DONE)


def test_what_one_press_recorded_is_shown_as_one_line(unit) -> None:
    job = a_job_in_work(unit, order=OLD)
    record(unit, job, CheckKind.LEAD, "clear", job.part_ids[:3])
    record(unit, job, CheckKind.LEAD, "found", job.part_ids[3:])
    [group] = groups_of(lines(unit, job).values())
    together = [tuple(line.number for line in alike) for alike in group.done_together]
    assert together == [(1, 2, 3), (4,)]
