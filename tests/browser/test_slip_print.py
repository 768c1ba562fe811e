"""The slip printed by the browser itself, on either paper, is the one page that the PDF is."""

import pytest
from playwright.sync_api import expect

from portal.shop.codes import printed_link
from tests.factories import TWO_COATS, WHEELS, a_booked_job
from tests.web import paper
from tests.web.test_slip import CALIPERS, COMPLETE, LONG

pytestmark = pytest.mark.browser
COATED = {**COMPLETE, "finish": TWO_COATS["finish"]}
FULL = (COATED, CALIPERS)  # as much as the middle setting holds


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize(
    "sets", [(WHEELS,), (COMPLETE, CALIPERS), FULL, LONG], ids=["1", "2", "full", "6"]
)
def test_the_browsers_own_print_is_one_page_with_both_codes(live, size, sets):
    job = a_booked_job(live.app.extensions["unit"], *sets)
    page = live.person("desktop")
    page.goto(f"/J/{job.token}/slip")
    (printed,) = paper.pages(page.pdf(format=size))
    link = printed_link("http://127.0.0.1:8000", job.token)
    assert [code.text for code in paper.read_all(printed)] == [link, link]


def test_the_print_button_is_there_for_those_whom_it_serves(live):
    job = a_booked_job(live.app.extensions["unit"])
    page = live.person()
    page.goto(f"/J/{job.token}/slip")
    expect(page.get_by_role("button", name="Print")).to_be_visible()
    plain = live.person(js=False)
    plain.goto(f"/J/{job.token}/slip")
    expect(plain.locator("h1, main").first).to_be_visible()
    expect(plain.get_by_role("button", name="Print")).to_be_hidden()
