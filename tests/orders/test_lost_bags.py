"""A hardware bag that was lost: its customer is asked, and goes on without it or not."""

import pytest
import sqlalchemy as sa

from portal.orders.counter import bags, finding_answers, findings, hand_back, lost_bags
from portal.orders.counter.hand_back import HandBack, NotYet
from portal.orders.counter.job_view import job_view
from portal.orders.customer.status_view import status
from portal.orders.kernel.errors import Already, Refused
from portal.orders.kernel.ledger import account_of
from portal.orders.production.board_view import floor
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import Arrival, LetterKind, PaymentMethod
from portal.store.tables import Job, Letter, Part
from tests.factories import WHEELS, a_booked_job, a_job_at, a_token, last_event_id, state
from tests.readers import english


@pytest.fixture
def job(unit):
    job = a_job_at(unit, PartStage.DONE)
    bags.add_bag(unit, job.job_id, "4 centre caps", who=None)
    return job


def lose(unit, job, **more) -> int:
    told = {"expected_event_id": last_event_id(unit, job), "once_token": a_token(), **more}
    return lost_bags.lose_bag(unit, job.job_id, "B1", "not on its shelf", who=None, **told)


def answer(unit, job, finding: int, *, yes: bool = True) -> None:
    finding_answers.answer_finding(unit, job.job_id, finding, accepted=yes, how="counter", who=None)


def total(unit, job) -> int:
    with unit.read() as session:
        return account_of(session, job.job_id).total.minor


def gives(unit, job, *labels: str) -> None:
    with unit.read() as session:
        owed = account_of(session, job.job_id).owed.minor
        row = session.get(Job, job.job_id)
        given = HandBack(row.pickup_code, (1, 2, 3, 4), labels, owed, PaymentMethod.CARD)
    hand_back.hand_back(
        unit,
        job.job_id,
        given,
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )


@pytest.mark.postgres
def test_its_customer_is_told_and_asked_and_the_price_stays(unit, job) -> None:
    before = total(unit, job)
    lose(unit, job)
    assert state(unit, job) is JobState.WAITING
    (asked,) = status(unit, job.token).open_findings
    assert english(asked.says).startswith("We have lost bag B1: 4 centre caps (not on its shelf).")
    with unit.read() as session:
        assert LetterKind.FINDING in session.scalars(sa.select(Letter.kind)).all()
        arrived = set(session.scalars(sa.select(Part.arrived)))
    assert Arrival.LOST not in arrived
    assert total(unit, job) == before


def test_who_puts_the_small_parts_back_reads_which_bag_is_lost(unit) -> None:
    job = a_job_at(
        unit,
        PartStage.REFIT,
        {**WHEELS, "fitted": ["tyre", "centre_cap"], "removers": {}},
        bringing="complete",
    )
    bags.add_bag(unit, job.job_id, "4 centre caps", who=None)
    bags.add_bag(unit, job.job_id, "20 bolts", who=None)
    finding = lose(unit, job)
    answer(unit, job, finding)
    (group,) = next(column.groups for column in floor(unit) if column.stage is PartStage.REFIT)
    assert [(one.label, one.lost) for one in group.bags] == [("B1", True), ("B2", False)]
    (asked,) = job_view(unit, job.code).findings
    assert asked.is_loss
    assert "We have lost bag B1: 4 centre caps (" in english(asked.says)


def test_after_a_yes_nobody_counts_it_any_more(unit, job) -> None:
    before = total(unit, job)
    finding = lose(unit, job)
    with pytest.raises(NotYet):
        hand_back.make_ready(unit, job.job_id, who=None)
    answer(unit, job, finding)
    assert job_view(unit, job.code).bags_to_count == ()
    hand_back.make_ready(unit, job.job_id, who=None)
    gives(unit, job)
    assert state(unit, job) is JobState.HANDED_BACK
    assert total(unit, job) == before


def test_after_a_no_it_keeps_the_job_off_the_shelf(unit, job) -> None:
    answer(unit, job, lose(unit, job), yes=False)
    assert len(job_view(unit, job.code).bags_to_count) == 1
    with pytest.raises(NotYet):
        hand_back.make_ready(unit, job.job_id, who=None)


def test_found_before_the_answer_the_question_is_taken_back(unit, job) -> None:
    lose(unit, job)
    lost_bags.found_bag(unit, job.job_id, "B1", who=None)
    assert state(unit, job) is JobState.IN_WORK
    assert status(unit, job.token).open_findings == ()
    with pytest.raises(Already):
        lost_bags.found_bag(unit, job.job_id, "B1", who=None)


def test_found_after_the_answer_it_is_counted_again_and_the_job_says_so(unit, job) -> None:
    answer(unit, job, lose(unit, job))
    lost_bags.found_bag(unit, job.job_id, "B1", who=None)
    seen = job_view(unit, job.code)
    assert len(seen.bags_to_count) == 1
    assert english(seen.row.flag) == "Bag B1 was found again: tell the customer"


def test_the_question_is_taken_back_only_by_finding_it(unit, job) -> None:
    finding = lose(unit, job)
    with pytest.raises(Refused, match="found instead"):
        findings.withdraw(unit, job.job_id, finding, who=None)


def test_a_reason_is_needed_and_the_parts_must_be_here(unit, job) -> None:
    with pytest.raises(Refused, match="how it was lost"):
        lost_bags.lose_bag(
            unit, job.job_id, "B1", " ", expected_event_id=0, once_token=a_token(), who=None
        )
    with pytest.raises(Refused):
        lose(unit, a_booked_job(unit))
    lose(unit, job)
    with pytest.raises(Already):
        lose(unit, job)
