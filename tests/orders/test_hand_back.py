"""Ready and hand-back: nothing missing, nothing unsaid, and the tags become free."""

import pytest
import sqlalchemy as sa

from portal.orders.counter import bags, check_in, hand_back, lost_bags, payments
from portal.orders.counter.hand_back import HandBack, NotYet
from portal.orders.counter.job_view import job_view
from portal.orders.kernel.errors import Overtaken, Refused
from portal.orders.kernel.ledger import account_of
from portal.orders.office.erasing import erase_customer
from portal.shop.ledger import EntryKind
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.tables import LedgerEntry, Part
from tests.factories import (
    WHEELS,
    a_booked_job,
    a_job_at,
    a_token,
    events,
    last_event_id,
    stages,
    state,
)
from tests.readers import english, refusing

PAYMENTS = sa.select(LedgerEntry).where(LedgerEntry.kind == EntryKind.PAYMENT)


@pytest.fixture
def ready(unit):
    job = a_job_at(unit, PartStage.DONE)
    bags.add_bag(unit, job.job_id, "4 centre caps", who=None)
    hand_back.make_ready(unit, job.job_id, who=None)
    return job


def due(unit, job) -> int:
    with unit.read() as session:
        return account_of(session, job.job_id).owed.minor


def all_of(unit, job, **over) -> HandBack:
    values = {
        "pickup_code": job.pickup_code,
        "parts": (1, 2, 3, 4),
        "bags": ("B1",),
        "paid_minor": due(unit, job),
        "how": PaymentMethod.CARD,
    }
    return HandBack(**{**values, **over})


def give(
    unit, job, given: HandBack, *, since: int | None = None, token: str = "", who=None
) -> None:
    hand_back.hand_back(
        unit,
        job.job_id,
        given,
        expected_event_id=last_event_id(unit, job) if since is None else since,
        once_token=token or a_token(),
        who=who,
    )


def refused(unit, job, given: HandBack) -> dict[str, str]:
    with pytest.raises(NotYet) as caught:
        give(unit, job, given)
    assert state(unit, job) is JobState.READY
    return {key: english(says) for key, says in caught.value.reasons}


def test_a_job_with_every_part_done_becomes_ready(unit) -> None:
    job = a_job_at(unit, PartStage.DONE)
    hand_back.make_ready(unit, job.job_id, who=None)
    assert state(unit, job) is JobState.READY


def test_a_part_on_the_way_keeps_the_job_off_the_shelf_and_is_named(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    with pytest.raises(NotYet) as caught:
        hand_back.make_ready(unit, job.job_id, who=None)
    assert english(caught.value.reasons[0][1]) == "Part 1 (tag 101) is at “Inspect”."
    assert len(caught.value.reasons) == 4


def lose(unit, job) -> int:
    """Write the job's bag off; return the finding."""
    return lost_bags.lose_bag(
        unit,
        job.job_id,
        "B1",
        "not where it was",
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )


def test_a_missing_bag_keeps_the_job_off_the_shelf(unit) -> None:
    job = a_job_at(unit, PartStage.DONE)
    bags.add_bag(unit, job.job_id, "4 centre caps", who=None)
    lose(unit, job)
    with refusing(NotYet, r"Bag B1 \(4 centre caps\) is missing"):
        hand_back.make_ready(unit, job.job_id, who=None)
    lost_bags.found_bag(unit, job.job_id, "B1", who=None)
    hand_back.make_ready(unit, job.job_id, who=None)


def test_a_missing_inspection_keeps_the_job_off_the_shelf(unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    # as if parts had slipped past the inspection
    slip = sa.update(Part).where(Part.job_id == job.job_id).values(stage=PartStage.DONE)
    unit.write(lambda session: session.execute(slip))
    with refusing(NotYet, "Part 1 has not passed inspection"):
        hand_back.make_ready(unit, job.job_id, who=None)


def test_a_job_that_never_started_does_not_become_ready(unit) -> None:
    job = a_booked_job(unit)
    with pytest.raises(NotYet):
        hand_back.make_ready(unit, job.job_id, who=None)


def test_the_hand_back_counts_takes_the_money_and_frees_the_tags(unit, ready) -> None:
    owed = due(unit, ready)
    give(unit, ready, all_of(unit, ready))
    assert state(unit, ready) is JobState.HANDED_BACK
    assert stages(unit, ready) == [PartStage.GONE] * 4
    with unit.read() as session:
        payment = session.scalars(PAYMENTS).one()
        assert (payment.amount_minor, payment.how) == (-owed, "card")
        worn = session.scalars(sa.select(Part.tag).where(Part.tag.is_not(None))).all()
        assert list(worn) == []
    assert due(unit, ready) == 0
    other = a_booked_job(unit, {**WHEELS, "count": 1})
    assert check_in.give_tag(unit, other.job_id, "101", who=None).tag == "101"


def test_a_double_press_takes_the_money_once(unit, ready) -> None:
    since = last_event_id(unit, ready)
    given = all_of(unit, ready)
    give(unit, ready, given, since=since, token="the-last-button")
    give(unit, ready, given, since=since, token="the-last-button")
    with unit.read() as session:
        assert len(session.scalars(PAYMENTS).all()) == 1


def test_every_reason_is_told_at_once_beside_its_field(unit, ready) -> None:
    reasons = refused(
        unit,
        ready,
        all_of(unit, ready, pickup_code="9999", parts=(1, 2, 4), bags=(), paid_minor=1, how=None),
    )
    assert reasons == {
        "pickup_code": "This is not the pickup code of this job. Ask again.",
        "parts": "Parts not counted: 3.",
        "bags": "Bags not counted: B1.",
        "owing_because": "Some of the price is unpaid. Enter why, or take the full amount.",
        "how": "Choose how it was paid.",
    }


def test_without_the_code_a_name_and_a_reason_are_needed_and_kept(unit, ready) -> None:
    assert set(refused(unit, ready, all_of(unit, ready, pickup_code=""))) == {"pickup_code"}
    named = all_of(unit, ready, pickup_code="", collector="Sam Sample")
    assert set(refused(unit, ready, named)) == {"override_reason"}
    give(
        unit,
        ready,
        all_of(
            unit,
            ready,
            pickup_code="",
            collector="Sam Sample",
            override_reason="telephone lost, knows the car",
        ),
    )
    ((said,),) = events(unit, ready, "hand_back")[0].says.values.values()
    assert said.msgid == "without code: {reason}"
    assert said.values == {"reason": "telephone lost, knows the car"}
    assert job_view(unit, ready.code).collector == "Sam Sample"
    erase_customer(unit, ready.code)
    assert job_view(unit, ready.code).collector == ""


def test_a_balance_can_stay_open_with_a_reason(unit, ready) -> None:
    give(unit, ready, all_of(unit, ready, paid_minor=0, how=None, owing_because="by transfer"))
    assert due(unit, ready) > 0
    ((said,),) = events(unit, ready, "hand_back")[0].says.values.values()
    assert (said.msgid, said.values) == ("owing: {reason}", {"reason": "by transfer"})


@pytest.mark.parametrize("paid", [-1, 10**9])
def test_an_impossible_sum_is_refused(unit, ready, paid) -> None:
    assert "paid" in refused(unit, ready, all_of(unit, ready, paid_minor=paid))


def test_more_than_is_owed_is_refused(unit, ready) -> None:
    given = all_of(unit, ready, paid_minor=due(unit, ready) + 1)
    assert refused(unit, ready, given)["paid"] == "This is more than the customer owes."


def test_a_second_person_at_the_hand_back_is_told_what_the_first_did(unit, ready) -> None:
    page = last_event_id(unit, ready)
    payments.take_payment(
        unit, ready.job_id, 5_000, PaymentMethod.CASH, once_token=a_token(), who=None
    )
    with refusing(Overtaken, "a cash payment was recorded"):
        give(unit, ready, all_of(unit, ready), since=page)


def test_a_ready_job_can_be_taken_back_into_work_with_a_reason(unit, ready) -> None:
    with pytest.raises(Refused):
        hand_back.take_back(unit, ready.job_id, " ", who=None)
    hand_back.take_back(unit, ready.job_id, "a scratch under the light", who=None)
    assert state(unit, ready) is JobState.IN_WORK
