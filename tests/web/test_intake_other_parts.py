"""Orders without a wheel: every other kind of part reaches its slip."""

import pytest

from portal.craft.parts import PartKind
from tests.web.walk import CONTACT, Customer

SIZE = {"length": "400", "width": "200", "height": "100", "metal": "steel", "closed": "none"}
# what these parts usually measure; "something else" says what it is
LONG = {"length": "1400", "width": "500", "height": "800"}
MORE = {
    PartKind.BUMPER: LONG,
    PartKind.BENCH: LONG,
    PartKind.OTHER: {"what": "A bracket", "made": "sheet"},
}


@pytest.mark.parametrize("kind", [k for k in PartKind if k is not PartKind.WHEEL])
def test_an_order_without_a_wheel_is_booked(client, kind: PartKind) -> None:
    customer = Customer(client)
    customer.send(kind=kind.value, count="2", **(SIZE | MORE.get(kind, {})))
    answers = {"finish": {"A-colour": "R9005-S", "A-gloss": "satin"}, "you": CONTACT}
    for step in ("on-them", "comes-off", "finish", "day", "you"):
        assert customer.step == step
        customer.send(**answers.get(step, {}))
    assert customer.step == "read-back"
    booked = customer.book()
    assert booked.status_code == 303
    assert booked.headers["Location"].startswith("/J/")


def test_yellow_to_red_paint_adds_the_test_for_lead_and_says_why(client) -> None:
    customer = Customer(client)
    customer.send(kind="railing", count="1", **(SIZE | LONG))
    assert "can contain lead, whatever its age" in customer.page.text
    customer.send(**{"A-yellow_to_red": "y"})
    for step in ("comes-off", "finish", "day", "you"):
        answers = {"finish": {"A-colour": "R9005-S", "A-gloss": "satin"}, "you": CONTACT}
        customer.send(**answers.get(step, {}))
    assert "Lead test of an old finish" in customer.page.text
    customer.go_to("on-them")
    assert customer.page.one("input", name="A-yellow_to_red").get("checked") is not None


def test_wheels_are_not_asked_for_the_colour_of_their_paint(client) -> None:
    customer = Customer(client).walk_to("on-them")
    assert not customer.page.all("input", name="A-yellow_to_red")
