"""Today in one look: twelve drop-offs in a desk's first window, the whole day on one sheet."""

import pypdfium2 as pdfium
import pytest

from tests.browser.staff import enter
from tests.busy_day import a_full_day

pytestmark = pytest.mark.browser


def test_twelve_drop_offs_stand_in_the_first_window_of_a_desk(live, unit, clock) -> None:
    a_full_day(unit, clock)
    page = enter(live.person("desktop"), at="/counter/today")
    page.set_viewport_size({"width": 1280, "height": 900})
    rows = page.locator(".day-columns > div:first-child > .day-rows").first.locator("li")
    assert rows.count() == 12
    last = rows.last.bounding_box()
    assert last["y"] + last["height"] <= 900
    first_out = page.get_by_role("heading", name="Goes out")
    assert first_out.bounding_box()["y"] < 400


def test_a_full_day_prints_on_one_page(live, unit, clock) -> None:
    a_full_day(unit, clock)
    page = enter(live.person("desktop"), at="/counter/today")
    with pdfium.PdfDocument(page.pdf(prefer_css_page_size=True)) as paper:
        assert len(paper) == 1
        text = "".join(paper[0].get_textpage().get_text_bounded().split())
    for told in ("Comes", "Goes out", "Waits for the customer", "Money", "Oven"):
        assert told.replace(" ", "") in text


def test_on_a_phone_nothing_is_wider_than_the_screen(live, unit, clock) -> None:
    a_full_day(unit, clock)
    page = enter(live.person("phone"), at="/counter/today")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
