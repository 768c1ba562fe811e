"""A garage pastes ten sets, two of them bad, corrects them, books all, and sees its dates."""

import re

import pytest
from playwright.sync_api import expect

from portal.shop.moves import JobState
from tests.browser import turns
from tests.firms import a_firm
from tests.garage import TWO_BAD, jobs_of_firm, link_of

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_ten_sets_from_paste_to_dates(live, app, unit, size: str) -> None:
    firm_id = a_firm(unit)
    page = live.person(size)
    page.goto(link_of(app, unit, firm_id))
    turns.press(page.get_by_role("button", name="Open the page"))
    turns.press(page.get_by_role("link", name="New list").last)
    page.get_by_label("Paste rows from your table").fill(TWO_BAD)
    turns.press(page.get_by_role("button", name="Show prices and dates"))
    expect(page.locator("li[data-state=good]")).to_have_count(8)
    for row, name, value in ((9, "How many", "4"), (10, "Colour", "RAL 9005")):
        line = page.locator(".firm-rows > li").nth(row - 1)
        line.get_by_label(name, exact=True).fill(value)
    turns.press(page.get_by_role("button", name="Save and work out"))
    expect(page.locator("li[data-state=good]")).to_have_count(10)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    box = page.get_by_label("I have read and accept these points")
    box.check()
    turns.press(page.get_by_role("button", name=re.compile("Book all 10 sets for £")))
    expect(page.get_by_role("heading", name="Booked", exact=True)).to_be_visible()
    expect(page.locator("tbody tr")).to_have_count(10)
    jobs = jobs_of_firm(unit, firm_id)
    assert [job.state for job in jobs] == [JobState.BOOKED] * 10
    turns.press(page.get_by_role("link", name=re.compile("Order 3 ")).first)
    expect(page.get_by_role("heading", level=1)).to_be_visible()
