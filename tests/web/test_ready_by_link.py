"""Ready parts behind the link: the code for who knows the telephone, how to pay, when to come."""

from dataclasses import replace

import pytest

from portal.orders.counter.hand_back import make_ready
from portal.orders.counter.link_digits import MOST_WRONG
from portal.orders.counter.lists_view import shelf
from portal.shop.route import PartStage
from portal.store.tables import Job
from tests.factories import TWO_COATS, a_job_at, events
from tests.web.hand import Hand

# the example of Germany in the IBAN registry (from memory); its check digits are right
IBAN = "DE89 3704 0044 0532 0130 00"


@pytest.fixture
def ready(unit):
    job = a_job_at(unit, PartStage.DONE, TWO_COATS)
    make_ready(unit, job.job_id, who=None)
    return job


@pytest.fixture
def visitor(client, ready):
    return Hand(client, f"/J/{ready.token}")


def test_the_code_is_shown_after_the_digits_in_that_browser_alone(app, visitor, ready) -> None:
    visitor.go(f"/J/{ready.token}/code")
    visitor.send("/code", digits="9999")
    assert visitor.wrong("digits").startswith("Error: These aren't the last four digits")
    visitor.send("/code", digits="0123")
    for _ in range(2):
        assert f"Your pickup code {ready.pickup_code}" in visitor.page.text
        visitor.go(f"/J/{ready.token}")
    other = app.test_client().get(f"/J/{ready.token}").get_data(as_text=True)
    assert ready.pickup_code not in other


def test_a_guesser_is_stopped_and_the_right_digits_come_too_late(visitor, ready, clock) -> None:
    visitor.go(f"/J/{ready.token}/code")
    for _ in range(MOST_WRONG):
        visitor.send("/code", digits="9999")
        clock.advance(minutes=20)
    visitor.send("/code", digits="0123")
    assert "Too many wrong tries." in visitor.wrong("digits")
    assert ready.pickup_code not in visitor.page.text


def test_the_hour_of_pickup_is_chosen_and_told_to_staff(visitor, ready, unit) -> None:
    visitor.go(f"/J/{ready.token}/pickup-time")
    visitor.send("/pickup-time")
    assert visitor.wrong("slot") == "Error: Choose a time."
    times = [one.get("value") for one in visitor.page.all("input") if one.get("name") == "slot"]
    visitor.send("/pickup-time", slot=times[3])
    assert visitor.told[0].startswith("Thank you. We expect you on")
    (event,) = events(unit, ready, "pickup_time")
    (row,) = shelf(unit)
    assert (event.person_id, row.pickup_at is not None) == (None, True)
    assert "We expect you on" in visitor.page.text


def test_how_long_they_are_kept_and_what_then(visitor) -> None:
    assert "We keep your parts until" in visitor.page.text
    assert "the law says what happens to the parts" in visitor.page.text


def test_an_account_in_euro_gets_a_transfer_code_and_the_shops_page_its_sum(
    visitor, ready, unit, app, monkeypatch
) -> None:
    assert "Pay now" in visitor.page.text
    bank = {"iban": IBAN, "pay_link": "https://pay.example.com/{code}?sum={sum}&in={currency}"}
    with unit.read() as session:
        shop = replace(unit.shop(session), invoicing_entries={"bank": bank})
    monkeypatch.setattr(type(unit), "shop", lambda *_args, **_at: shop)

    def in_euro(session) -> None:
        session.get_one(Job, ready.job_id).currency = "EUR"

    unit.write(in_euro)
    visitor.go(f"/J/{ready.token}/pay")
    (link,) = [one for one in visitor.page.all("a") if "pay.example.com" in (one.get("href") or "")]
    with unit.read() as session:
        code = session.get_one(Job, ready.job_id).code
    assert link.get("href").startswith(f"https://pay.example.com/{code[:4]}-{code[4:]}?sum=")
    assert link.get("href").endswith("&in=EUR")
    assert visitor.page.all(class_="qr")
