"""A part that was lost: written off with a reason, answered by its customer, or found again."""

from datetime import date

import pytest
import sqlalchemy as sa

from portal.orders.counter import cancellation, finding_answers, findings, hand_back, lost, tags
from portal.orders.counter.hand_back import HandBack
from portal.orders.kernel.errors import Already, Refused
from portal.orders.kernel.job_search import Meant, what_is
from portal.orders.production import strip_runs
from portal.orders.production.batches_view import run_view
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.tables import Finding, Job, Letter, Part
from tests.factories import (
    PAINTED,
    WHEELS,
    a_job_in_work,
    a_token,
    bring_to,
    events,
    last_event_id,
    state,
)
from tests.readers import english, refusing


@pytest.fixture
def job(unit):
    return a_job_in_work(unit, PAINTED)


@pytest.fixture
def run(unit, job) -> int:
    """A strip run that came back without tag 103."""
    run = strip_runs.open_run(unit, date(2026, 6, 3), date(2026, 6, 8), who=None)
    for tag in ("101", "102", "103", "104"):
        strip_runs.gather(unit, run, tag, who=None)
    strip_runs.send(unit, run, who=None)
    for tag in ("101", "102", "104"):
        strip_runs.count_back(unit, run, tag, who=None)
    strip_runs.close(unit, run, who=None)
    return run


def write_off(unit, job, number: int = 3) -> int:
    return lost.write_off(
        unit,
        job.part_ids[number - 1],
        "not among those that the stripper sent back",
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )


def answer(unit, job, finding: int, *, yes: bool = True) -> None:
    finding_answers.answer_finding(unit, job.job_id, finding, accepted=yes, how="counter", who=None)


def row(unit, job) -> Job:
    with unit.read() as session:
        return session.get(Job, job.job_id)


def arrived(unit, job, number: int = 3) -> str:
    with unit.read() as session:
        return session.get(Part, job.part_ids[number - 1]).arrived


def test_a_loss_is_weighed_before_it_is_written_off(unit, job, run) -> None:
    weighed = lost.weigh_loss(unit, job.part_ids[2])
    assert weighed.amount_minor < 0
    assert arrived(unit, job) == "as_declared"


def test_writing_off_tells_the_customer_and_waits(unit, job, run) -> None:
    before = row(unit, job).total_minor
    finding = write_off(unit, job)
    assert state(unit, job) is JobState.WAITING
    assert row(unit, job).flag is None
    with unit.read() as session:
        says = session.get(Finding, finding).says
        letters = session.scalars(sa.select(Letter.kind).where(Letter.job_id == job.job_id)).all()
    assert "We have lost part 3" in english(says)
    assert "not among those that the stripper sent back" in english(says)
    assert "finding" in letters
    answer(unit, job, finding)
    assert state(unit, job) is JobState.IN_WORK
    assert row(unit, job).total_minor < before


def test_the_run_closes_without_what_was_written_off(unit, job, run) -> None:
    write_off(unit, job)
    found = run_view(unit, run)
    assert found.state == "back"
    assert found.missing == ()
    assert [part.number for part in found.parts if part.lost] == [3]


def test_the_rest_of_the_job_goes_on_to_its_hand_back(unit, job, run) -> None:
    answer(unit, job, write_off(unit, job))
    rest = type(job)(
        job.job_id, job.code, job.token, job.pickup_code, (*job.part_ids[:2], job.part_ids[3])
    )
    bring_to_done(unit, rest)
    hand_back.make_ready(unit, job.job_id, who=None)
    due = row(unit, job).total_minor
    given = HandBack(job.pickup_code, (1, 2, 4), (), due, PaymentMethod.CARD)
    hand_back.hand_back(
        unit,
        job.job_id,
        given,
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )
    assert state(unit, job) is JobState.HANDED_BACK
    # the lost part's tag is gone with it; the others can be given out again
    page = tags.tags(unit)
    assert "103" in page.retired
    assert {"101", "102", "104"} <= set(page.free)


def bring_to_done(unit, job) -> None:
    from portal.orders.production import floor, inspecting, oven

    floor.move_on(unit, job.part_ids, to=PartStage.COAT, who=None)
    floor.move_on(unit, job.part_ids, to=PartStage.CURE, who=None)
    load = oven.start_load(
        unit, job.part_ids, set_point_c=180, minutes=15, once_token=a_token(), who=None
    )
    oven.close_load(unit, load, early_because="test", who=None)
    for part_id in job.part_ids:
        inspecting.inspect(
            unit,
            part_id,
            ((70.0,) * 3,) * 5,
            looked=inspecting.Looked(looks_good=True),
            once_token=a_token(),
            who=None,
        )


def test_the_lost_tag_still_leads_to_its_part(unit, job, run) -> None:
    write_off(unit, job)
    meaning = what_is(unit, "103")
    assert (meaning.means, meaning.part_number) == (Meant.PART, 3)


def test_a_part_found_before_the_answer_goes_on_as_if_nothing_had_been(unit, job, run) -> None:
    before = row(unit, job).total_minor
    finding = write_off(unit, job)
    lost.found(unit, job.part_ids[2], who=None)
    assert state(unit, job) is JobState.IN_WORK
    assert arrived(unit, job) == "as_declared"
    assert row(unit, job).total_minor == before
    with unit.read() as session:
        assert session.get(Finding, finding).answer == "withdrawn"
    assert len(events(unit, job, "found")) == 1
    from portal.orders.production import floor

    moved = floor.move_on(unit, [job.part_ids[2]], to=PartStage.BLAST, who=None)
    assert moved[0].now is PartStage.BLAST


def test_a_part_found_after_the_yes_goes_home_as_it_is_and_the_job_says_so(unit, job, run) -> None:
    answer(unit, job, write_off(unit, job))
    lost.found(unit, job.part_ids[2], who=None)
    assert arrived(unit, job) == "turned_away"
    assert row(unit, job).flag.values == {"part": 3}
    assert state(unit, job) is JobState.IN_WORK


def test_a_loss_needs_its_reason_and_counts_once(unit, job, run) -> None:
    with refusing(Refused, r"Enter how it was lost\. The customer will read"):
        lost.write_off(
            unit,
            job.part_ids[2],
            " ",
            expected_event_id=last_event_id(unit, job),
            once_token=a_token(),
            who=None,
        )
    write_off(unit, job)
    with pytest.raises(Already):
        write_off(unit, job)


def test_a_lost_finding_is_not_withdrawn_but_found(unit, job, run) -> None:
    finding = write_off(unit, job)
    with refusing(Refused, "as found"):
        findings.withdraw(unit, job.job_id, finding, who=None)


def test_with_nothing_left_the_counter_says_how_the_job_ends(unit) -> None:
    job = a_job_in_work(unit, {**WHEELS, "count": 1})
    answer(unit, job, write_off(unit, job, 1))
    assert state(unit, job) is JobState.RECEIVED
    cancellation.turn_away(unit, job.job_id, "its only part was lost", who=None)
    assert "101" in tags.tags(unit).retired


def test_parts_come_back_from_the_tank_while_their_job_waits(unit, job) -> None:
    run = strip_runs.open_run(unit, date(2026, 6, 3), date(2026, 6, 8), who=None)
    strip_runs.gather(unit, run, "101", who=None)
    strip_runs.send(unit, run, who=None)
    write_off(unit, job, 4)
    assert state(unit, job) is JobState.WAITING
    with refusing(Refused, f"away in strip run {run}"):
        cancellation.call_off(unit, job.job_id, "wants them back", who=None)
    strip_runs.count_back(unit, run, "101", who=None)
    assert run_view(unit, run).state == "back"
    cancellation.call_off(unit, job.job_id, "wants them back", who=None)


def test_a_load_closes_while_a_job_in_it_waits(unit) -> None:
    from portal.orders.production import oven

    job = a_job_in_work(unit)
    bring_to(unit, job, PartStage.CURE)
    load = oven.start_load(
        unit, job.part_ids, set_point_c=180, minutes=15, once_token=a_token(), who=None
    )
    write_off(unit, job, 4)
    assert oven.close_load(unit, load, early_because="test", who=None).count == 3
