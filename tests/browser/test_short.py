"""The shortest way to a booking is short: four bare wheels on a phone, counted page by page."""

import pytest
from playwright.sync_api import expect

from tests.browser.reading import Read, read
from tests.browser.story import Customer

pytestmark = pytest.mark.browser

WORDS = 1300
SCREENS = 14.0
PAGE = 3.0
TAPS = 15
TYPED = 4
# silent reading of English prose, words a minute: Brysbaert 2019 (from memory)
READING = 238
# keystroke-level model, seconds: to point 1.10, to make up one's mind 1.35, a key 0.28 for one who
# doesn't type for a living: Card, Moran and Newell 1980 (from memory)
TAP, KEY = 1.10 + 1.35, 0.28
KEYS = 70
SAID = 6  # minutes that the first page tells


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
    minutes = words / READING + (customer.taps * TAP + KEYS * KEY) / 60
    with capsys.disabled():
        print(f"{minutes:.1f} minutes for one who reads every word")
    assert abs(minutes - SAID) <= 0.75
    customer.page.goto("/")
    expect(customer.page.locator("main")).to_contain_text("About six minutes")
