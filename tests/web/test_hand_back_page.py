"""The hand-back with a keyboard scanner and without scripts; and how it is taken back."""

import pytest
import sqlalchemy as sa

from portal.orders.counter import bags, hand_back, payments
from portal.orders.kernel.ledger import account_of
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.tables import Job, Part
from tests.factories import a_job_at, a_token, state
from tests.page import words


@pytest.fixture
def ready(unit):
    job = a_job_at(unit, PartStage.DONE)
    bags.add_bag(unit, job.job_id, "4 centre caps", who=None)
    hand_back.make_ready(unit, job.job_id, who=None)
    return job


def test_the_hand_back_asks_for_everything_and_keeps_what_was_ticked(hand, unit, ready) -> None:
    hand.scan(ready.code)
    assert hand.path == f"/counter/job/{ready.code}/hand-back"
    hand.send("/hand-back", pickup_code="0000", parts=["1", "2"], do="all-card")
    assert hand.at.status_code == 422
    assert hand.wrong("pickup_code") == "Error: This is not the pickup code of this job. Ask again."
    assert hand.wrong("parts") == "Error: Parts not counted: 3, 4."
    assert hand.wrong("bags") == "Error: Bags not counted: B1."
    ticked = [
        one.get("value")
        for one in hand.page.all("input", name="parts")
        if one.get("checked") is not None
    ]
    assert ticked == ["1", "2"]
    everything = {"parts": ["1", "2", "3", "4"], "bags": ["B1"]}
    hand.send("/hand-back", pickup_code=ready.pickup_code, do="all-card", **everything)
    assert hand.path == f"/counter/job/{ready.code}"
    assert state(unit, ready) is JobState.HANDED_BACK


@pytest.mark.parametrize("paid", ["-5", "12,345.67.8", "1e9", "🪙", "ten"])
def test_a_sum_that_is_none_is_refused_beside_its_field(hand, ready, paid) -> None:
    hand.go(f"/counter/job/{ready.code}/hand-back")
    hand.send("/hand-back", pickup_code=ready.pickup_code, paid=paid, do="some-card")
    assert hand.at.status_code == 422
    assert hand.wrong("paid")
    assert hand.page.one("input", id="paid").get("value") == paid


def test_a_double_press_of_the_last_button_is_one_hand_back(hand, unit, ready) -> None:
    hand.go(f"/counter/job/{ready.code}/hand-back")
    page = hand.at
    for _ in range(2):
        hand.at = page
        hand.send(
            "/hand-back",
            pickup_code=ready.pickup_code,
            parts=["1", "2", "3", "4"],
            bags=["B1"],
            do="all-cash",
        )
        assert hand.path == f"/counter/job/{ready.code}"
    with unit.read() as session:
        account = account_of(session, ready.job_id)
        assert (account.paid, account.owed.minor) == (account.total, 0)


def test_enter_in_a_field_records_nothing_and_says_whether_the_code_is_right(
    hand, unit, ready
) -> None:
    hand.go(f"/counter/job/{ready.code}/hand-back")
    hand.send("/hand-back", pickup_code=ready.pickup_code, do="look")
    assert "The code is right." in hand.page.text
    hand.send("/hand-back", pickup_code="000000", do="look")
    assert "This is not the pickup code of this job." in hand.page.text
    assert state(unit, ready) is JobState.READY
    with unit.read() as session:
        assert account_of(session, ready.job_id).paid.minor == 0


def test_the_scan_field_takes_tags_and_the_pickup_code_and_the_address_keeps_the_count(
    hand, unit, ready
) -> None:
    unit.write(lambda s: s.execute(sa.update(Job).values(pickup_code="774702")))
    hand.go("/counter/shelf")
    hand.scan("774 702")
    assert hand.path == f"/counter/job/{ready.code}/hand-back"
    assert hand.page.one("input", id="pickup_code").get("value") == "774702"
    assert "The code is right." in hand.page.text
    for tag in ("101", "103"):
        hand.scan(tag)
    counted = [
        one.get("value")
        for one in hand.page.all("input", name="parts")
        if one.get("checked") is not None
    ]
    assert counted == ["1", "3"]
    hand.scan("999")
    assert hand.told == ["“999” is no part of this job."]


def test_a_deposit_stands_in_the_account_and_the_shelf_is_free_after_the_hand_back(
    hand, unit, ready
) -> None:
    payments.take_payment(
        unit, ready.job_id, 1_000, PaymentMethod.CASH, once_token=a_token(), who=None
    )
    unit.write(lambda s: s.execute(sa.update(Job).values(shelf="A3")))
    hand.go(f"/counter/job/{ready.code}/hand-back")
    assert "A3" in hand.page.text
    assert "£10" in words(hand.page.all("dl", class_="account")[0])
    everything = {"parts": ["1", "2", "3", "4"], "bags": ["B1"]}
    hand.send("/hand-back", pickup_code=ready.pickup_code, do="all-card", **everything)
    with unit.read() as session:
        assert session.get(Job, ready.job_id).shelf == ""
        assert account_of(session, ready.job_id).owed.minor == 0
    hand.send("/hand-back/undo", reason="wrong customer")
    with unit.read() as session:
        assert session.get(Job, ready.job_id).shelf == "A3"
        assert account_of(session, ready.job_id).paid.minor == 1_000  # the deposit stays


def test_whoever_handed_back_takes_it_back_with_the_payment(hand, unit, ready) -> None:
    hand.go(f"/counter/job/{ready.code}/hand-back")
    hand.send(
        "/hand-back",
        pickup_code=ready.pickup_code,
        parts=["1", "2", "3", "4"],
        bags=["B1"],
        do="all-card",
    )
    hand.send("/hand-back/undo")
    assert hand.told == ["Enter the reason."]
    hand.send("/hand-back/undo", reason="wrong customer")
    assert hand.told == ["Back on the shelf. The payment is taken back too."]
    assert state(unit, ready) is JobState.READY
    with unit.read() as session:
        account = account_of(session, ready.job_id)
        tags = session.scalars(sa.select(Part.tag).order_by(Part.number)).all()
    assert (account.paid.minor, account.owed) == (0, account.total)
    assert tags == ["101", "102", "103", "104"]


def test_what_was_paid_before_stands_at_the_hand_back(hand, unit, ready) -> None:
    payments.take_payment(
        unit, ready.job_id, 1000, PaymentMethod.CARD, once_token="paid-before", who=None
    )
    hand.go(f"/counter/job/{ready.code}/hand-back")
    assert hand.at.status_code == 200
    assert "£10" in hand.page.text
