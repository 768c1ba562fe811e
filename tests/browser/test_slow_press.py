"""A slow press counts: the live price leaves the page alone while a finger is on a button.

Who types the size and goes straight to Continue leaves the field only by pressing: the price comes
while the finger is down, makes the bar taller, and would move the button from under it.
"""

import re

import pytest

from tests.browser.test_five_flows import Flow
from tests.browser.turns import turned

pytestmark = pytest.mark.browser
LIVE = re.compile(r"/price\?")
# an answer that does not wait for the finger has moved the button long before
FINGER_DOWN_MS = 400


def test_a_press_that_brings_the_price_counts(live) -> None:
    flow = Flow(live.person("phone"))
    flow.begin()
    flow.check("build", "cast")
    flow.fill("count", "4")
    page = flow.page
    page.locator("input[name=size]").fill("8Jx18 ET35")
    button = page.get_by_role("button", name="Continue", exact=True)
    button.hover()
    with page.expect_response(LIVE) as answer:
        page.mouse.down()
    answer.value.finished()
    page.wait_for_timeout(FINGER_DOWN_MS)
    with turned(page):
        page.mouse.up()
    flow.on("on-them")
