"""The shortest way to a booking is short: four bare wheels on a phone, counted page by page."""

import pytest

from tests.browser.reading import Read, read
from tests.browser.story import Customer

pytestmark = pytest.mark.browser

WORDS = 1300
SCREENS = 14.0
PAGE = 3.0
TAPS = 15
TYPED = 4


def test_four_bare_wheels_are_booked_in_few_words_screens_taps_and_fields(live, capsys) -> None:
    customer = Customer(live.person("phone"))
    first: dict[str, Read] = {}
    left: dict[str, Read] = {}
    customer.arrived = lambda step: first.setdefault(step, read(customer.page))

    def leaves(page, name: str) -> None:
        left[name] = read(page)

    customer.book_wheels(leaves, bare=True)
    left["8-booked"] = read(customer.page)
    with capsys.disabled():
        print("\npage                words  screens")
        for name, one in left.items():
            print(f"{name:<18} {one.words:>6} {one.screens:>8.2f}")
        words = sum(one.words for one in left.values())
        screens = sum(one.screens for one in left.values())
        print(f"{'all':<18} {words:>6} {screens:>8.2f}")
        print(f"taps {customer.taps}, typed fields {customer.typed}")
    too_long = {step: round(one.screens, 2) for step, one in first.items() if one.screens > PAGE}
    assert not too_long
    assert words <= WORDS
    assert screens <= SCREENS
    assert customer.taps - customer.typed <= TAPS
    assert customer.typed <= TYPED
