"""Parts move by scan and by tap, once, and can be taken back for ten seconds."""

import pytest
import sqlalchemy as sa

from portal.orders.kernel.errors import Overtaken, Refused, Unknown
from portal.orders.production import floor
from portal.shop.codes import shown
from portal.shop.route import PartStage
from portal.store.tables import Move, Part, PowderRow, StockMove
from tests.factories import (
    WHEELS,
    a_booked_job,
    a_job_at,
    a_job_in_work,
    bake,
    bring_to,
    events,
    stages,
)
from tests.readers import english, refusing
from tests.shop import scan_cases


def stock_of(unit, code: str) -> int:
    with unit.read() as session:
        return session.scalar(sa.select(PowderRow.stock_g).where(PowderRow.code == code))


def at(stage: PartStage, job) -> dict[int, PartStage]:
    return dict.fromkeys(job.part_ids, stage)


def test_a_scanned_tag_moves_its_part_to_the_station(unit) -> None:
    job = a_job_in_work(unit)
    moved = floor.scan_part(unit, "102", PartStage.BLAST, scan_id="scan-0001", who=None)
    assert (moved.number, moved.was, moved.now) == (2, PartStage.PREP, PartStage.BLAST)
    assert stages(unit, job) == [PartStage.PREP, PartStage.BLAST, PartStage.PREP, PartStage.PREP]
    name = f"Tag 102 of {job.code[:4]}-{job.code[4:]}"
    assert english(moved.says) == f"{name}: Prep → Blast. Never: Steel grit."


def test_the_same_scan_sent_twice_counts_once(unit) -> None:
    job = a_job_in_work(unit)
    floor.scan_part(unit, "101", PartStage.BLAST, scan_id="scan-0001", who=None)
    again = floor.scan_part(unit, "101", PartStage.BLAST, scan_id="scan-0001", who=None)
    assert again.already
    assert len(events(unit, job, "move")) == 5  # four into prep, one into blast


def test_the_same_tag_scanned_twice_at_a_station_counts_once(unit) -> None:
    job = a_job_in_work(unit)
    floor.scan_part(unit, "101", PartStage.BLAST, scan_id="scan-0001", who=None)
    again = floor.scan_part(unit, "101", PartStage.BLAST, scan_id="scan-0002", who=None)
    assert again.already
    assert "is already at “Blast”" in english(again.says)
    assert stages(unit, job)[0] is PartStage.BLAST


def test_a_late_resend_of_an_old_scan_does_not_move_a_part_back(unit) -> None:
    job = a_job_in_work(unit)
    floor.scan_part(unit, "101", PartStage.BLAST, scan_id="scan-0001", who=None)
    floor.scan_part(unit, "101", PartStage.COAT, scan_id="scan-0002", who=None)
    assert floor.scan_part(unit, "101", PartStage.BLAST, scan_id="scan-0001", who=None).already
    assert stages(unit, job)[0] is PartStage.COAT


def test_a_paper_tag_moves_its_part_too(unit) -> None:
    job = a_job_in_work(unit)
    moved = floor.scan_part(unit, f"{job.code}-3", PartStage.BLAST, scan_id=None, who=None)
    assert moved.number == 3


def test_a_station_that_is_not_next_is_refused_with_the_reason(unit) -> None:
    a_job_in_work(unit)
    with pytest.raises(Refused) as caught:
        floor.scan_part(unit, "101", PartStage.INSPECT, scan_id=None, who=None)
    assert (
        english(caught.value.sentence)
        == "Tag 101: This part is at “Prep”. The next station is “Blast”, not “Inspect”."
    )


@pytest.mark.parametrize("typed", ["340", "9999", "hello", "", "🛞"])
def test_a_tag_that_nobody_wears_is_named(unit, typed: str) -> None:
    a_job_in_work(unit)
    with refusing(Unknown, "No part has the tag “"):
        floor.scan_part(unit, typed, PartStage.BLAST, scan_id=None, who=None)


def test_a_paper_tag_moves_its_part_through_another_countrys_keyboard(unit) -> None:
    job = a_job_in_work(unit)
    for number, keys in ((1, scan_cases.GERMAN), (2, scan_cases.FRENCH)):
        typed = f"{shown(job.code)}-{number}".translate(keys)
        floor.scan_part(unit, typed, PartStage.BLAST, scan_id=None, who=None)
    assert stages(unit, job)[:2] == [PartStage.BLAST] * 2


def test_a_mistyped_paper_tag_is_named_as_mistyped(unit) -> None:
    job = a_job_in_work(unit)
    wrong = ("3" if job.code[0] != "3" else "4") + job.code[1:]
    with refusing(Refused, "There is a typing mistake in"):
        floor.scan_part(unit, f"{wrong}-1", PartStage.BLAST, scan_id=None, who=None)


def test_a_part_of_a_job_that_is_only_booked_stays_where_it_is(unit) -> None:
    job = a_booked_job(unit)
    with pytest.raises(Refused):
        floor.move_on(unit, job.part_ids, to=PartStage.PREP, who=None)


def test_a_whole_set_moves_with_one_tap_or_not_at_all(unit) -> None:
    job = a_job_in_work(unit)
    floor.scan_part(unit, "101", PartStage.BLAST, scan_id=None, who=None)
    with pytest.raises(Refused):
        floor.move_on(unit, job.part_ids, to=PartStage.BLAST, who=None)
    assert stages(unit, job)[1:] == [PartStage.PREP] * 3
    floor.move_on(unit, job.part_ids[1:], to=PartStage.BLAST, who=None)
    assert stages(unit, job) == [PartStage.BLAST] * 4


def test_a_move_can_be_taken_back_for_ten_seconds_and_that_is_recorded(unit, clock) -> None:
    job = a_job_in_work(unit)
    floor.move_on(unit, job.part_ids, to=PartStage.BLAST, who=None)
    clock.advance(seconds=9)
    back = floor.take_back(unit, at(PartStage.BLAST, job), who=None)
    assert [one.now for one in back] == [PartStage.PREP] * 4
    assert len(events(unit, job, "undo")) == 4


def test_after_that_time_a_move_stands(unit, clock) -> None:
    job = a_job_in_work(unit)
    floor.move_on(unit, job.part_ids, to=PartStage.BLAST, who=None)
    clock.advance(minutes=2)
    with refusing(Refused, r"It is too late to undo this\. Move the part by"):
        floor.take_back(unit, at(PartStage.BLAST, job), who=None)
    assert stages(unit, job) == [PartStage.BLAST] * 4


def test_taking_back_never_undoes_what_somebody_else_did_since(unit) -> None:
    job = a_job_in_work(unit)
    floor.move_on(unit, job.part_ids[:2], to=PartStage.BLAST, who=None)
    floor.move_on(unit, job.part_ids[1:2], to=PartStage.COAT, who=None)
    mine = dict.fromkeys(job.part_ids[:2], PartStage.BLAST)
    with refusing(Overtaken, r"Someone else has moved this part since then\."):
        floor.take_back(unit, mine, who=None)
    assert stages(unit, job)[:2] == [PartStage.BLAST, PartStage.COAT]
    with refusing(Refused, r"There is nothing to undo\."):
        floor.take_back(unit, {}, who=None)


def test_leaving_the_booth_takes_the_computed_powder_from_the_stock(unit) -> None:
    job = a_job_at(unit, PartStage.COAT)
    before = stock_of(unit, "R9005-S")
    floor.move_on(unit, job.part_ids, to=PartStage.CURE, who=None)
    with unit.read() as session:
        grams = session.get(Part, job.part_ids[0]).work["card"]["coats"][0]["grams"]
        rows = session.scalars(sa.select(StockMove.grams).where(StockMove.why == "load")).all()
    assert grams > 50  # a wheel of 18 inches takes more than a handful
    assert list(rows) == [-grams] * 4
    assert stock_of(unit, "R9005-S") == before - 4 * grams


def test_taking_that_back_puts_the_powder_back(unit) -> None:
    job = a_job_at(unit, PartStage.COAT)
    before = stock_of(unit, "R9005-S")
    floor.move_on(unit, job.part_ids, to=PartStage.CURE, who=None)
    floor.take_back(unit, at(PartStage.CURE, job), who=None)
    assert stock_of(unit, "R9005-S") == before


@pytest.mark.parametrize("stage", [PartStage.COAT, PartStage.CURE, PartStage.INSPECT])
def test_a_late_scan_into_blast_sends_nothing_back(unit, stage) -> None:
    """A phone may send its scan when somebody else has moved the part on; rework has a reason."""
    job = a_job_at(unit, stage)
    for number, to in enumerate((PartStage.BLAST, PartStage.COAT)):
        if not to.is_before(stage):
            continue
        with refusing(Refused, r"^Tag 101: Part 1 is already at .* use Rework"):
            floor.scan_part(unit, "101", to, scan_id=f"scan-000{number}", who=None)
    assert stages(unit, job) == [stage] * 4
    assert not events(unit, job, "rework")


def test_a_part_is_not_moved_past_inspection_by_hand(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    with refusing(Refused, "Inspect part"):
        floor.move_on(unit, job.part_ids, to=PartStage.DONE, who=None)


def test_scans_of_two_jobs_at_one_station_keep_to_their_jobs(unit) -> None:
    first = a_job_in_work(unit)
    second = a_job_in_work(unit, {**WHEELS, "count": 2}, first_tag=201)
    for tag in ("201", "101", "202"):
        floor.scan_part(unit, tag, PartStage.BLAST, scan_id=f"scan-{tag}", who=None)
    assert stages(unit, second) == [PartStage.BLAST] * 2
    assert stages(unit, first).count(PartStage.BLAST) == 1
    with unit.read() as session:
        assert session.scalar(sa.select(sa.func.count()).where(Move.scan_id.is_not(None))) == 3


def test_a_scan_tells_of_the_pre_bake_before_the_first_coat_and_when_it_is_missing(unit) -> None:
    job = a_job_in_work(unit)
    bring_to(unit, job, PartStage.BLAST)
    told = english(floor.scan_part(unit, "101", PartStage.COAT, scan_id=None, who=None).says)
    assert told.endswith("Blast → Coat. Pre-bake it before the first coat.")
    late = english(floor.scan_part(unit, "101", PartStage.CURE, scan_id=None, who=None).says)
    assert late.endswith("No pre-bake is recorded. Gas from the metal can blister this coat.")

    floor.scan_part(unit, "102", PartStage.COAT, scan_id=None, who=None)
    bake(unit, job.part_ids[1:2])
    told = english(floor.scan_part(unit, "102", PartStage.CURE, scan_id=None, who=None).says)
    assert told.endswith("Coat → Cure.")
