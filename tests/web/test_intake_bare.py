"""A customer who wants more of a part to stay bare."""

import pytest

from tests.web.walk import Customer


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client)


def test_a_bare_place_that_was_asked_for_is_masked_and_kept(customer) -> None:
    customer.walk_to("finish")
    choice = {"A-colour": "R9005-S", "A-gloss": "satin"}
    customer.send(**choice, **{"A-bare": ["bead_seats"]})
    assert customer.step == "day"
    customer.go_to("finish")
    assert "You asked us to keep the ledges bare where the tyre sits." in customer.page.text
    ticked = [e for e in customer.page.all("input", type_="checkbox") if e.get("name") == "A-bare"]
    assert [e.get("value") for e in ticked if e.get("checked") is not None] == ["bead_seats"]
    customer.send(**choice, **{"A-bare": ["stamps"]})
    assert "Choose from these." in customer.page.text


def test_steel_wheels_are_drawn_plain_until_the_customer_says_otherwise(customer) -> None:
    customer.send(size="6Jx15", build="steel")
    customer.go_to("parts/A")
    assert customer.fields.get("face") is None
    assert "A wheel with no finish yet: Plain steel with holes" in customer.at.text
    customer.send(size="6Jx15", build="steel", face="mesh")
    customer.go_to("parts/A")
    assert customer.fields["face"] == "mesh"
    assert "A wheel with no finish yet: Mesh" in customer.at.text
