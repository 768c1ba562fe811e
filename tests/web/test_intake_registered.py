"""Rules follow the vehicle to where it is registered; the wheel maker's permission is kept."""

import pytest

from portal.craft.registration import Country, Permission
from portal.orders.intake.draft_view import Times, look
from portal.web.kit.request_context import unit
from tests.cast import sign_in
from tests.page import checked_client, words
from tests.web.hand import Hand
from tests.web.walk import Customer

ABROAD = {"registered": "DE"}


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client).walk_to("on-them")


def told(customer: Customer):
    with customer.client.application.app_context():
        return look(unit(), customer.token, times=Times.NONE).answers.declared


def options(customer: Customer) -> list[str]:
    return [one.get("value", "") for one in customer.page.one("select", id="registered")]


def test_nobody_needs_to_say_that_a_vehicle_is_registered_here(customer) -> None:
    assert options(customer)[0] == ""
    assert "GB" not in options(customer)
    customer.send()
    assert customer.step == "comes-off"
    assert told(customer).registered is None


def test_of_what_is_no_wheel_it_is_not_asked(client) -> None:
    customer = Customer(client).walk_to("on-them", kind="chair", count="2", closed=["none"])
    assert not customer.page.all("select", id="registered")


def test_a_country_with_a_rule_asks_for_the_maker_s_permission(customer) -> None:
    customer.send(**ABROAD, **{"A-note": "Hello"})
    assert customer.at.status_code == 422
    assert "In Germany, a transport ministry guideline" in customer.page.text
    assert customer.errors() == ["Choose whether the maker allows it. “Don't know” is fine."]
    assert "Hello" in customer.page.text


@pytest.mark.parametrize("answer", ["no", "unknown"])
def test_without_permission_nothing_is_booked_that_the_shop_has_not_decided(
    customer, answer: str
) -> None:
    customer.send(**ABROAD)
    customer.send(**ABROAD, **{"A-permission": answer})
    assert "We can't take this booking yet" in customer.page.text
    assert "If the maker of the wheel allows it in writing" in customer.page.text
    assert told(customer).sets[0].permission is Permission(answer)
    assert told(customer).registered is Country.DE


def test_a_permission_is_kept_with_the_order_and_seen_at_check_in(app, unit, customer) -> None:
    customer.send(**ABROAD)
    customer.send(**ABROAD, **{"A-permission": "yes", "A-paper": "K 17 of 3 May"})
    assert customer.step == "comes-off"
    customer.walk_to("read-back")
    assert "Registered in Germany" in words(customer.page.one("dl", class_="back-order"))
    assert "Yes, I have it: K 17 of 3 May" in customer.page.text
    assert "Bring it: we look at it before we start." in customer.page.text
    path = customer.book().headers["Location"]
    slip = customer.client.get(f"{path}/slip").get_data(as_text=True)
    assert "permission in writing" in slip
    hand = Hand(sign_in(app, checked_client(app)))
    hand.scan(f"http://127.0.0.1:8000{path}")
    assert hand.path.endswith("/check-in")
    assert "Registered in: Germany" in hand.page.text
    assert "Yes, I have it: K 17 of 3 May" in hand.page.text
    assert "Ask for the wheel maker's permission, look at it" in hand.page.text
    # it is a check of its own, before the old finish comes off
    assert "Permission seen" in hand.page.text


def test_a_country_of_which_no_rule_is_known_is_accepted_as_such(customer) -> None:
    customer.send(registered="AT")
    assert customer.step == "comes-off"
    customer.walk_to("read-back")
    confirm = words(customer.page.one("section", id="confirm"))
    assert "Austria: we know of no rule about coating wheels" in confirm
    assert "That does not mean that there is none" in confirm


def test_coming_home_takes_the_question_back(customer) -> None:
    customer.send(**ABROAD)
    customer.send(**ABROAD, **{"A-permission": "yes", "A-paper": "K 17"})
    customer.go_to("on-them")
    customer.send(registered="")
    assert customer.step == "comes-off"
    assert told(customer).registered is None
    assert told(customer).sets[0].permission is None
    assert told(customer).sets[0].permission_paper == ""
