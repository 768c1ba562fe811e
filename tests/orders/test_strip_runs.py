"""A strip run gathers tags, leaves, and is counted back tag by tag."""

from datetime import date

import pytest
import sqlalchemy as sa

from portal.orders.customer.status_view import status
from portal.orders.kernel.errors import Already, Refused
from portal.orders.production import strip_runs
from portal.shop.rail import StopState
from portal.shop.route import PartStage
from portal.store.tables import Job, StripRun
from tests.factories import PAINTED, WHEELS, a_job_in_work, stages
from tests.readers import english, refusing


@pytest.fixture
def run(unit) -> int:
    return strip_runs.open_run(unit, date(2026, 6, 3), date(2026, 6, 8), who=None)


@pytest.fixture
def job(unit):
    return a_job_in_work(unit, PAINTED)


def gather_all(unit, run: int) -> None:
    for tag in ("101", "102", "103", "104"):
        strip_runs.gather(unit, run, tag, who=None)


def flag(unit, job) -> dict | None:
    with unit.read() as session:
        found = session.scalar(sa.select(Job.flag).where(Job.id == job.job_id))
    return found and dict(found.values)


def test_a_scanned_tag_goes_into_the_run_and_to_strip(unit, run, job) -> None:
    strip_runs.gather(unit, run, "101", who=None)
    assert stages(unit, job)[0] is PartStage.STRIP
    assert strip_runs.gather(unit, run, "101", who=None).already


def test_an_empty_run_does_not_leave(unit, run) -> None:
    with refusing(Refused, "is empty"):
        strip_runs.send(unit, run, who=None)


def test_every_tag_counted_back_goes_on_to_blast_and_the_run_closes(unit, run, job) -> None:
    gather_all(unit, run)
    assert strip_runs.send(unit, run, who=None) == 4
    for tag in ("101", "102", "103", "104"):
        strip_runs.count_back(unit, run, tag, who=None)
    assert stages(unit, job) == [PartStage.BLAST] * 4
    with unit.read() as session:
        assert session.get(StripRun, run).state == "back"


def test_a_tag_counted_twice_counts_once(unit, run, job) -> None:
    gather_all(unit, run)
    strip_runs.send(unit, run, who=None)
    strip_runs.count_back(unit, run, "101", who=None)
    assert strip_runs.count_back(unit, run, "101", who=None).already


def test_what_is_missing_is_named_and_its_job_flagged_until_it_is_found(unit, run, job) -> None:
    gather_all(unit, run)
    strip_runs.send(unit, run, who=None)
    for tag in ("101", "104"):
        strip_runs.count_back(unit, run, tag, who=None)
    missing = strip_runs.close(unit, run, who=None)
    assert [(m.number, m.tag) for m in missing] == [(2, "102"), (3, "103")]
    assert flag(unit, job) == {"run": run, "tags": "102, 103"}
    strip_runs.count_back(unit, run, "103", who=None)
    assert flag(unit, job) == {"run": run, "tags": "102"}
    strip_runs.count_back(unit, run, "102", who=None)
    assert flag(unit, job) is None
    with unit.read() as session:
        assert session.get(StripRun, run).state == "back"


def test_a_tag_that_never_went_is_not_counted_back(unit, run, job) -> None:
    strip_runs.gather(unit, run, "101", who=None)
    strip_runs.send(unit, run, who=None)
    with refusing(Refused, "was not in run"):
        strip_runs.count_back(unit, run, "102", who=None)


def test_a_part_can_be_in_one_run_at_a_time(unit, run, job) -> None:
    strip_runs.gather(unit, run, "101", who=None)
    other = strip_runs.open_run(unit, date(2026, 6, 5), date(2026, 6, 10), who=None)
    with refusing(Refused, f"in strip run {run} already"):
        strip_runs.gather(unit, other, "101", who=None)
    strip_runs.take_out(unit, run, job.part_ids[0], who=None)
    strip_runs.gather(unit, other, "101", who=None)


def test_a_part_that_is_away_is_not_moved_by_hand(unit, run, job) -> None:
    from portal.orders.production import floor

    strip_runs.gather(unit, run, "101", who=None)
    strip_runs.send(unit, run, who=None)
    with refusing(Refused, r"\. Count it back in there\."):
        floor.scan_part(unit, "101", PartStage.BLAST, scan_id=None, who=None)


def test_nothing_is_put_into_a_run_that_has_left(unit, run, job) -> None:
    strip_runs.gather(unit, run, "101", who=None)
    strip_runs.send(unit, run, who=None)
    with refusing(Refused, "has left"):
        strip_runs.gather(unit, run, "102", who=None)
    strip_runs.count_back(unit, run, "101", who=None)
    with pytest.raises(Already):
        strip_runs.close(unit, run, who=None)


def test_a_part_that_needs_no_tank_is_refused(unit, run) -> None:
    a_job_in_work(unit, WHEELS, first_tag=201)
    with refusing(Refused, r"doesn't need outside stripping\."):
        strip_runs.gather(unit, run, "201", who=None)


@pytest.mark.parametrize("back", [date(2026, 6, 2), date(2027, 6, 3)])
def test_a_run_comes_back_after_it_leaves(unit, back) -> None:
    with pytest.raises(Refused) as caught:
        strip_runs.open_run(unit, date(2026, 6, 3), back, who=None)
    assert caught.value.key == "back_on"


def test_the_customer_reads_when_the_run_leaves_and_when_it_is_back(unit, run, job) -> None:
    def note() -> str:
        (stop,) = [one for one in status(unit, job.token).stops if one.state is StopState.NOW]
        return english(stop.note)

    gather_all(unit, run)
    assert note() == "Leaves on Wednesday 3 June, back on Monday 8 June."
    strip_runs.send(unit, run, who=None)
    assert note() == "Left on Wednesday 3 June, back on Monday 8 June."
    for tag in ("101", "102", "103", "104"):
        strip_runs.count_back(unit, run, tag, who=None)
    assert "June" not in note()
