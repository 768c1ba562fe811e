"""Pages of money, without a script: a button records the sum that it says, and nothing else."""

import pytest

from portal.orders.counter import cancellation
from portal.orders.kernel.ledger import account_of
from tests.cast import COUNTER, OFFICE, sign_in
from tests.factories import a_booked_job, a_job_in_work
from tests.page import checked_client, words
from tests.web.hand import Hand


@pytest.fixture
def job(unit):
    return a_job_in_work(unit)


@pytest.fixture
def desk(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), COUNTER))


@pytest.fixture
def office(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), OFFICE))


def account(unit, job):
    with unit.read() as session:
        return account_of(session, job.job_id)


def buttons(hand) -> dict[str, str]:
    """The visible buttons that record, by what they say."""
    found = hand.page.all("button", name="record")
    return {words(one): one.get("value", "") for one in found if "unseen" not in one.get("class")}


def test_no_way_is_chosen_before_and_each_button_says_sum_and_way(desk, unit, job) -> None:
    owed = account(unit, job).owed.minor
    desk.go(f"/counter/job/{job.code}/pay")
    assert not desk.page.all("input", type="radio")
    assert list(buttons(desk)) == ["£302 by card", "£302 in cash", "£302 by bank transfer"]
    assert desk.page.one("input", id="amount").get("value") == f"{owed / 100:.2f}"
    desk.send("/pay", record=f"card:{owed}")
    assert account(unit, job).owed.minor == 0


def test_enter_in_the_amount_records_nothing_and_says_the_new_sum(desk, unit, job) -> None:
    desk.go(f"/counter/job/{job.code}/pay")
    first = desk.page.all("button", name="record")[0]
    assert first.get("value") == ""  # what Enter presses
    desk.send("/pay", amount="50", record="")
    assert account(unit, job).paid.minor == 0
    assert "£50 in cash" in buttons(desk)
    # a button that said another sum than the one in the field counts no more than Enter
    desk.send("/pay", amount="70", record="cash:5000")
    assert account(unit, job).paid.minor == 0
    desk.send("/pay", amount="70", record=buttons(desk)["£70 in cash"])
    assert account(unit, job).paid.minor == 7_000


def test_a_sum_above_what_is_owed_is_asked_back(desk, unit, job) -> None:
    desk.go(f"/counter/job/{job.code}/pay")
    desk.send("/pay", amount="33600", record="card:3360000")
    assert desk.at.status_code == 422
    assert "the customer owes £302" in desk.wrong("amount")
    assert account(unit, job).paid.minor == 0
    desk.send("/pay", record=buttons(desk)["£33,600 by card"])
    assert account(unit, job).credit.minor == 3_360_000 - 30_200


def test_the_office_puts_a_wrong_payment_right(desk, office, unit, clock, job) -> None:
    desk.go(f"/counter/job/{job.code}/pay")
    desk.send("/pay", amount="300", record="card:30000")
    clock.advance(minutes=20)
    wrong = account(unit, job).entries[-1]
    way = f"/counter/job/{job.code}/reverse/{wrong.id}"
    assert way not in str(desk.go(f"/counter/job/{job.code}").data)
    office.go(f"/counter/job/{job.code}")
    assert way in office.at.text
    office.go(way)
    office.send(way, reason="")
    assert office.wrong("reason") == "Error: Enter the reason."
    office.send(way, reason="typed for another job")
    assert account(unit, job).paid.minor == 0
    assert "typed for another job" in office.at.text


def test_a_discount_and_goodwill_have_a_reason(office, unit, job) -> None:
    way = "/off-the-price"
    office.go(f"/counter/job/{job.code}{way}")
    office.send(way, amount="20", record="", reason="comes often")
    office.send(way, record=buttons(office)["£20 off as a discount"])
    assert account(unit, job).total.minor == 30_200 - 2_000


def test_what_was_paid_goes_back_after_a_cancellation(office, desk, unit) -> None:
    job = a_booked_job(unit)
    desk.go(f"/counter/job/{job.code}/pay")
    desk.send("/pay", amount="50", record="cash:5000")
    cancellation.call_off(unit, job.job_id, "sold", who=None)
    office.go(f"/counter/job/{job.code}/refund")
    office.send("/refund", record=buttons(office)["£50 back in cash"], reason="cancelled")
    assert account(unit, job).owed.minor == 0


def test_a_sum_finer_than_a_coin_is_refused(desk, unit, job) -> None:
    desk.go(f"/counter/job/{job.code}/pay")
    desk.send("/pay", amount="1.005", record="")
    assert "at most 2 decimals" in desk.wrong("amount")
