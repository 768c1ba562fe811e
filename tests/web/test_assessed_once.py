"""An order is assessed once: what a page, a press or a booking costs, counted call by call."""

from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest

from tests.web.counting import counted, forget
from tests.web.walk import CONTACT, WHEELS, Customer

FRAME = {"kind": "frame", "count": "1", "metal": "steel", "closed": "none",
         "length": "1900", "width": "700", "height": "700"}  # fmt: skip
CALIPERS = {"kind": "caliper", "count": "2", "metal": "cast_iron",
            "length": "250", "width": "150", "height": "100"}  # fmt: skip
FINISH = {"system": "single", "gloss": "satin", "colour": "R9005-S"}
# what each page costs a process that has seen no order yet: orders that are priced (its own; as it
# was and as it becomes; with a rush; and what it is compared with) and sets that are appraised
PRICED = {
    "POST on-them": 1,
    "POST comes-off": 2,
    "POST finish": 2,
    "GET day": 2,
    "POST day": 1,
    "GET you": 1,
    "POST you": 1,
    "GET read-back": 1,
    "POST read-back": 1,
}
ONCE = ("GET day", "POST day", "GET you", "POST you", "GET read-back", "POST read-back")


class Counting(Customer):
    """A customer whose every request is counted, by page and method."""

    def __init__(self, client: Any, *, cold: bool) -> None:
        self.seen: dict[str, Counter[str]] = {}
        self.orders: Counter[Any] = Counter()
        self.cold = cold
        forget()
        super().__init__(client)
        opened = client.open

        def watched(*args: Any, **kwargs: Any) -> Any:
            if self.cold:
                forget()
            with counted(self.orders) as found:
                answer = opened(*args, **kwargs)
            step = answer.request.path.rstrip("/").split("/")[3:4]
            self.seen[f"{answer.request.method} {''.join(step)}"] = found
            return answer

        client.open = watched

    def _play(self, _name: str, walk: Callable[[], Any]) -> None:
        """Walk: what was walked before can't be counted."""
        walk()


def four_wheels(customer: Customer) -> None:
    customer.walk_to("read-back")


def three_sets(customer: Customer) -> None:
    customer.send(**WHEELS, then="another")
    customer.send(**CALIPERS, then="another")
    customer.send(**FRAME)
    customer.send(**{"A-layers": "factory_paint", "B-layers": "liquid_paint",
                     "C-layers": "liquid_paint"})  # fmt: skip
    customer.send()
    customer.send(**{f"{key}-{name}": FINISH[name] for key in "ABC" for name in FINISH})
    customer.send()
    customer.send(**CONTACT)


WALKS = {"four wheels": (four_wheels, 1), "three sets": (three_sets, 3)}


@pytest.mark.parametrize("name", WALKS)
def test_a_page_prices_its_order_once_and_appraises_each_set_once(client, name: str) -> None:
    go, sets = WALKS[name]
    customer = Counting(client, cold=True)
    go(customer)
    assert customer.book().status_code == 303
    seen = customer.seen
    assert {page: seen[page]["quotes"] for page in PRICED} == PRICED
    for page in ONCE:
        assert (seen[page]["sets"], seen[page]["routes"]) == (sets, sets), page
        # with a rush nothing of the parts is another, but their turn is
        assert seen[page]["works"] == sets * PRICED[page], page
        assert seen[page]["offers"] == {"GET day": 2, "POST you": 0}.get(page, 1), page
        assert seen[page]["all times"] == (page == "GET day"), page
    # each way of bringing them, each coat system and the samples
    assert seen["GET comes-off"]["quotes"] <= 4
    assert seen["GET finish"]["quotes"] <= 5 * sets + 3


@pytest.mark.parametrize("name", WALKS)
def test_no_order_is_assessed_twice_from_the_first_page_to_the_booking(client, name: str) -> None:
    customer = Counting(client, cold=False)
    WALKS[name][0](customer)
    customer.book()
    assert len(customer.orders) > 10
    assert set(customer.orders.values()) == {1}
    # what the page before has shown is known, whatever is pressed
    assert [customer.seen[page]["quotes"] for page in ONCE] == [1, 0, 0, 0, 0, 0]
