"""An order is assessed once: what a page, a press or a booking costs, counted call by call."""

import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from types import CodeType, FrameType
from typing import Any

import pytest

from portal.craft import appraise, old_finishes
from portal.shop.assessment import assess
from portal.shop.pricing import quote
from portal.shop.scheduling import promising, stations
from tests.web.walk import CONTACT, WHEELS, Customer

WATCHED: dict[CodeType, str] = {
    assess._assess.__wrapped__.__code__: "orders",
    appraise.appraise_set.__wrapped__.__code__: "sets",
    quote.quote.__code__: "quotes",
    old_finishes.route.__code__: "routes",
    stations.part_work.__code__: "works",
    promising.offers_on.__code__: "offers",
}
FRAME = {"kind": "frame", "count": "1", "metal": "steel", "closed": "none",
         "length": "1900", "width": "700", "height": "700"}  # fmt: skip
CALIPERS = {"kind": "caliper", "count": "2", "metal": "cast_iron",
            "length": "250", "width": "150", "height": "100"}  # fmt: skip
STEPS = ("parts", "on-them", "comes-off", "finish", "day", "you", "read-back")


@contextmanager
def counted() -> Iterator[Counter[str]]:
    """Count the calls of what is watched, and every order that is assessed, as it is told."""
    found: Counter[str] = Counter()

    def see(frame: FrameType, event: str, _arg: Any) -> None:
        name = WATCHED.get(frame.f_code) if event == "call" else None
        if name:
            found[name] += 1

    sys.setprofile(see)
    try:
        yield found
    finally:
        sys.setprofile(None)


def forget() -> None:
    """Begin as a process does that has seen no order yet."""
    assess._assess.cache_clear()
    appraise.appraise_set.cache_clear()


class Counting(Customer):
    """A customer whose every request is counted, by page and method."""

    def __init__(self, client: Any, *, cold: bool) -> None:
        self.seen: dict[str, Counter[str]] = {}
        self.cold = cold
        super().__init__(client)
        opened = client.open

        def watched(*args: Any, **kwargs: Any) -> Any:
            if self.cold:
                forget()
            with counted() as found:
                answer = opened(*args, **kwargs)
            step = answer.request.path.rstrip("/").split("/")[3:4]
            self.seen[f"{answer.request.method} {''.join(step)}"] = found
            return answer

        client.open = watched


def four_wheels(customer: Customer) -> None:
    customer.walk_to("read-back")


def three_sets(customer: Customer) -> None:
    customer.send(**WHEELS, then="another")
    customer.send(**CALIPERS, then="another")
    customer.send(**FRAME)
    customer.send(**{"A-layers": "factory_paint", "B-layers": "liquid_paint",
                     "C-layers": "liquid_paint"})  # fmt: skip
    customer.send()
    customer.send(**{f"{key}-{name}": value for key in "ABC" for name, value in
                     {"system": "single", "gloss": "satin", "colour": "R9005-S"}.items()})  # fmt: skip
    customer.send()
    customer.send(**CONTACT)


WALKS = {"four wheels": (four_wheels, 1), "three sets": (three_sets, 3)}


@pytest.fixture(params=WALKS)
def walk(request) -> Any:
    return WALKS[request.param]


def test_a_page_assesses_its_order_once_and_what_it_compares_it_with(client, walk) -> None:
    go, sets = walk
    customer = Counting(client, cold=True)
    go(customer)
    customer.book()
    for name, found in customer.seen.items():
        print(name, dict(found))
    assert 0
