"""Old finish: "don't know" is an answer, damage is counted, refused parts leave by one press."""

import re
from typing import Any

import pytest

from portal.craft.damaged import how_many
from portal.craft.parts import Damage, Layer, PartSet
from portal.orders.intake.draft_view import Times, look
from portal.web.kit.request_context import unit
from tests.web.walk import Customer


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client).walk_to("on-them")


def told(customer: Customer, at: int = 0) -> PartSet:
    with customer.client.application.app_context():
        return look(unit(), customer.token, times=Times.NONE).sets[at]


def one_set(customer: Customer) -> Any:
    return customer.page.one("fieldset", id="A-layers")


def ticked(customer: Customer) -> list[str]:
    boxes = customer.page.all("input", name="A-layers")
    return [box.get("value", "") for box in boxes if box.get("checked") is not None]


def test_original_paint_is_ticked_until_told_otherwise(customer) -> None:
    assert ticked(customer) == ["factory_paint"]


@pytest.mark.parametrize("alone", ["unknown", "bare"])
def test_dont_know_beside_the_untouched_tick_is_dont_know(customer, alone: str) -> None:
    customer.send(**{"A-layers": ["factory_paint", alone]})
    assert customer.step == "comes-off"
    assert told(customer).layers == (Layer(alone),)
    customer.go_to("on-them")
    assert ticked(customer) == [alone]


def test_an_answer_with_dont_know_alone_is_kept(customer) -> None:
    customer.send(**{"A-layers": ["unknown"]})
    assert told(customer).layers == (Layer.UNKNOWN,)


def test_a_wrap_over_something_unknown_stays_both(customer) -> None:
    customer.send(**{"A-layers": ["wrap", "unknown"]})
    assert told(customer).layers == (Layer.WRAP, Layer.UNKNOWN)


def test_each_choice_says_what_it_does(customer) -> None:
    text = customer.page.text
    assert "+£55 each" in text
    assert "10 days longer" in text
    assert "We can't coat it" in text
    assert "+£10 to £32 each" in text
    assert "Adds £24 once:" in text


def test_it_is_asked_how_many_have_it(customer) -> None:
    customer.send(**{"A-damage": ["kerb_rash"], "A-many_kerb_rash": "", "A-note": "Hello"})
    assert customer.at.status_code == 422
    assert customer.errors() == ["Kerb damage: Choose how many of them have this."]
    assert customer.page.one("select", id="A-many_kerb_rash") is not None
    assert "Hello" in customer.page.text
    customer.send(**{"A-damage": ["kerb_rash"], "A-many_kerb_rash": "1", "A-which": "front left"})
    assert customer.step == "comes-off"
    assert how_many(told(customer), Damage.KERB_RASH) == 1
    assert told(customer).damaged_which == "front left"


def test_a_single_part_is_not_asked_how_many(client) -> None:
    customer = Customer(client).walk_to("on-them", count="1")
    assert not customer.page.all("select", id="A-many_bend")
    customer.send(**{"A-damage": ["bend"]})
    assert told(customer).damage == (Damage.BEND,)


def test_of_many_parts_the_number_is_typed(client) -> None:
    customer = Customer(client).walk_to("on-them", count="20")
    customer.send(**{"A-damage": ["bend"], "A-many_bend": "21"})
    assert customer.at.status_code == 422
    customer.send(**{"A-damage": ["bend"], "A-many_bend": "7"})
    assert how_many(told(customer), Damage.BEND) == 7


CRACKED = {
    "A-damage": ["crack", "kerb_rash"],
    "A-many_crack": "1",
    "A-many_kerb_rash": "2",
    "A-which": "front left",
    "A-note": "Mind the lettering",
}


def test_a_cracked_wheel_stays_at_home_by_one_press_and_three_go_on(customer) -> None:
    customer.send(**CRACKED)
    assert customer.step == "on-them"
    assert "We don't coat cracked wheels" in customer.page.text
    button = customer.page.one("button", name="leave", form="page")
    assert "Leave this one at home and go on with the other 3" in "".join(button.itertext())
    customer.send(leave=button.get("value"))
    assert customer.step == "comes-off"
    rest = told(customer)
    assert rest.count == 3
    assert rest.damage == (Damage.KERB_RASH,)
    assert how_many(rest, Damage.KERB_RASH) == 2
    assert rest.damaged_which == "front left"
    assert rest.note == "Mind the lettering"


def test_it_can_stay_at_home_where_it_is_ticked(customer) -> None:
    customer.send(**CRACKED, leave="A:crack")
    assert customer.step == "comes-off"
    assert told(customer).count == 3


def test_what_is_typed_beside_the_press_is_kept(customer) -> None:
    customer.send(**CRACKED)
    customer.send(**{"A-note": "Changed my mind", "A-layers": ["powder"]}, leave="A:crack")
    assert told(customer).note == "Changed my mind"
    assert told(customer).layers == (Layer.POWDER,)


def test_without_a_number_nothing_leaves(customer) -> None:
    customer.send(**{"A-damage": ["crack"], "A-many_crack": ""}, leave="A:crack")
    assert customer.at.status_code == 422
    assert told(customer).count == 4


def test_where_all_are_cracked_the_set_is_taken_out_by_its_own_button(customer) -> None:
    customer.send(**{"A-damage": ["crack"], "A-many_crack": "4"}, leave="A:crack")
    assert customer.step == "on-them"
    assert told(customer).count == 4
    assert "Remove these parts" in customer.page.text
    assert not customer.page.all("button", name="leave", form="page")


@pytest.mark.parametrize("leave", ["A:rust", "crack", "Z:crack", ":", "A:kerb_rash:1"])
def test_a_press_that_nobody_offered_takes_nothing_out(customer, leave: str) -> None:
    customer.send(leave=leave)
    assert told(customer).count == 4


def test_only_wheels_are_asked_about_kerbs_and_other_parts_about_rust(customer, client) -> None:
    assert "kerb marks" in customer.page.text
    railing = Customer(client).walk_to(
        "on-them", kind="railing", length="600", width="300", height="100", metal="steel",
        closed="none",
    )  # fmt: skip
    assert not re.search("kerb", railing.page.text, re.IGNORECASE)
    assert "rust, white powder" in railing.page.text
