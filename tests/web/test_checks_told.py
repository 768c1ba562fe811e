"""The customer reads which checks are made, when they were done and what they found."""

import pytest
import sqlalchemy as sa

from portal.craft.check_kinds import CheckKind
from portal.orders.counter.checks import record_check
from portal.orders.production import strip_runs
from portal.orders.production.manifest_view import manifest
from portal.shop.moves import JobState
from portal.store.checks import PartCheck
from portal.store.floor import StripRunPart
from portal.store.jobs import Job
from tests.factories import PAINTED, a_booked_job, a_job_in_work, a_token
from tests.page import page_of
from tests.readers import english
from tests.web.told_and_done import part

CLEAR = "We tested the old finish and found neither lead nor chromate."
GATE = part("railing", layers=["liquid_paint"], closed=["none"])
OLD = {"original_before_1980": True}


@pytest.fixture
def job(unit):
    return a_booked_job(unit, GATE, order=OLD)


def found(unit, job, kind: CheckKind, result: str, *numbers: int) -> None:
    ids = [job.part_ids[number - 1] for number in numbers]
    record_check(unit, job.job_id, kind, result, ids, once_token=a_token(), who=None)


def status_of(client, job) -> str:
    return page_of(client.get(f"/J/{job.token}")).text


def test_what_will_be_checked_stands_on_the_status_page_and_on_the_slip(client, job) -> None:
    assert "Test for lead and chromate to come" in status_of(client, job)
    slip = page_of(client.get(f"/J/{job.token}/slip")).text
    assert "We check: Test for lead and chromate" in slip


def test_a_result_is_told_with_its_day(client, unit, job) -> None:
    found(unit, job, CheckKind.LEAD, "clear", 1, 2)
    text = status_of(client, job)
    assert f"{CLEAR} Test for lead and chromate, Mon 1 Jun" in text
    assert "to come" not in text


def test_a_result_of_some_parts_names_them(client, unit, job) -> None:
    found(unit, job, CheckKind.LEAD, "clear", 2)
    text = status_of(client, job)
    assert f"Part 2: {CLEAR}" in text
    assert "Part 1: Test for lead and chromate to come" in text


def test_the_sheet_lists_what_was_checked_with_its_day(client, unit, job) -> None:
    found(unit, job, CheckKind.LEAD, "clear", 1, 2)
    done = sa.update(Job).where(Job.id == job.job_id).values(state=JobState.READY)
    unit.write(lambda session: session.execute(done))
    sheet = page_of(client.get(f"/J/{job.token}/inspection")).text
    assert "What we checked before" in sheet
    assert CLEAR in sheet


def test_an_order_without_checks_says_nothing_of_them(client, unit) -> None:
    job = a_booked_job(unit)
    assert "What we check" not in status_of(client, job)


@pytest.mark.parametrize(
    ("result", "says"),
    [
        ("", "Paint from before 1980 can contain lead or chromate. It is on these tags: 101, 102."),
        ("clear", "Tested for lead and chromate, none found: tags 101, 102."),
        (
            "found",
            "Lead or chromate was found in the old finish of these tags: 101, 102.",
        ),
    ],
)
def test_the_tank_reads_what_the_test_said(unit, result: str, says: str) -> None:
    job = a_job_in_work(unit, PAINTED | {"count": 2}, order=OLD)
    day = unit.now().date()
    run = strip_runs.open_run(unit, day, day, who=None)
    put_into(unit, run, job)
    if result:
        put_result(unit, job, result)
    assert [english(one) for one in manifest(unit, run).old_paint] == [says]


def put_into(unit, run: int, job) -> None:
    """Put the parts into a run as one of an older release, which knew of no gate."""

    def work(session) -> None:
        session.add_all(StripRunPart(run_id=run, part_id=one) for one in job.part_ids)

    unit.write(work)


def put_result(unit, job, result: str) -> None:
    def work(session) -> None:
        session.add_all(
            PartCheck(
                job_id=job.job_id, part_id=one, kind=CheckKind.LEAD, result=result, at=unit.now()
            )
            for one in job.part_ids
        )

    unit.write(work)
