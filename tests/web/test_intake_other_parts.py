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
