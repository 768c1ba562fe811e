"""What is found late: on arrival, under another layer, or on the way back from the tank."""

from dataclasses import replace

from portal.craft.check_kinds import CheckKind
from portal.craft.declared import read_declared
from portal.orders.counter import findings
from portal.orders.production import floor, strip_runs
from portal.shop.pricing.differences import Difference
from portal.shop.route import PartStage
from portal.store.tables import Job
from tests.factories import (
    WHEELS,
    a_booked_job,
    a_job_in_work,
    a_token,
    last_event_id,
    stages,
)
from tests.orders.checked import BENT, answer, lines, record, the_finding
from tests.readers import english


def test_yellow_paint_that_is_seen_on_arrival_adds_the_test(unit) -> None:
    gate = {
        "kind": "railing",
        "count": 1,
        "metal": "steel",
        "layers": ["liquid_paint"],
        "size_mm": [2000, 40, 1000],
        "closed": ["none"],
        "finish": WHEELS["finish"],
    }
    job = a_booked_job(unit, gate)
    with unit.read() as session:
        one = read_declared(session.get_one(Job, job.job_id).declared).sets[0]
    found = Difference(one.key, (1,), replace(one, yellow_to_red=True))
    findings.raise_finding(
        unit, job.job_id, found, expected_event_id=last_event_id(unit, job),
        once_token=a_token(), who=None,
    )  # fmt: skip
    assert "yellow, orange or red" in english(the_finding(unit, job).says)
    assert the_finding(unit, job).amount_minor == 2400
    answer(unit, job, yes=True)
    assert (CheckKind.LEAD, 1) in lines(unit, job)


def test_what_was_unknown_under_a_known_layer_is_filled_in_without_a_question(unit) -> None:
    job = a_job_in_work(unit, {**WHEELS, "layers": ["wrap", "unknown"]})
    assert not record(unit, job, CheckKind.LAYERS, "factory_paint")["asked"]
    with unit.read() as session:
        declared = read_declared(session.get_one(Job, job.job_id).declared)
    assert [str(one) for one in declared.sets[0].layers] == ["wrap", "factory_paint"]


def test_a_part_that_is_back_from_the_tank_is_counted_and_waits_for_its_test(unit, clock) -> None:
    job = a_job_in_work(unit, {**BENT, "layers": ["factory_paint"]})
    floor.move_on(unit, job.part_ids, to=PartStage.STRIP, who=None)
    today = clock.now().date()
    run = strip_runs.open_run(unit, today, today, who=None)
    for tag in ("101", "102", "103", "104"):
        strip_runs.gather(unit, run, tag, who=None)
    strip_runs.send(unit, run, who=None)
    back = strip_runs.count_back(unit, run, "101", who=None)
    assert "bend of part 1" in english(back.says)
    for tag in ("102", "103", "104"):
        strip_runs.count_back(unit, run, tag, who=None)
    assert stages(unit, job) == [PartStage.STRIP, *[PartStage.BLAST] * 3]
    record(unit, job, CheckKind.BEND, "within", job.part_ids[:1])
    floor.scan_part(unit, "101", PartStage.BLAST, scan_id="back", who=None)
    assert set(stages(unit, job)) == {PartStage.BLAST}
