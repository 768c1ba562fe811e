"""The floor with sixty jobs: two screens on a desk, four on a telephone, the next ten in sight."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import SIZES, Live
from tests.browser.staff import enter
from tests.cast import FLOOR
from tests.sixty import SHARES, a_floor_of_sixty

HEIGHT = "document.documentElement.scrollHeight"


@pytest.fixture
def full(unit):
    return a_floor_of_sixty(unit)


def in_sight(page: Page, size: str) -> int:
    """How many of the next things to do end above the fold, in one line or two of their own."""
    lines = page.locator(".next-up li")
    ends = [
        box["y"] + box["height"] for box in (line.bounding_box() for line in lines.all()) if box
    ]
    return sum(end <= SIZES[size][1] for end in ends)


def test_sixty_jobs_fit_two_screens_of_a_desk(live: Live, full, pictures) -> None:
    page = enter(live.person("desktop"), FLOOR, at="/counter/floor")
    expect(page.locator(".group").first).to_be_visible()
    assert page.locator(".group").count() >= 60
    pictures(page, "desk")
    assert page.evaluate(HEIGHT) <= 2 * SIZES["desktop"][1]
    assert in_sight(page, "desktop") == 10


def test_a_telephone_shows_what_is_next_and_one_station_at_a_time(
    live: Live, full, pictures
) -> None:
    page = enter(live.person("phone"), FLOOR, at="/counter/floor")
    pictures(page, "phone")
    assert in_sight(page, "phone") == 10
    highest = page.evaluate(HEIGHT)
    for stage in SHARES:
        page.goto(f"/counter/floor?at={stage}")
        expect(page.locator(".station:visible")).to_have_count(1)
        pictures(page, f"phone-{stage}")
        highest = max(highest, page.evaluate(HEIGHT))
    assert highest <= 4 * SIZES["phone"][1]


def test_a_closed_card_has_two_lines_whatever_it_must_tell(live: Live, full) -> None:
    page = enter(live.person("desktop"), FLOOR, at="/counter/floor")
    heights = page.locator(".group summary").evaluate_all(
        "all => all.map(one => one.getBoundingClientRect().height)"
    )
    assert min(heights) >= 44
    assert max(heights) <= 50


def test_what_is_next_opens_its_card(live: Live, full) -> None:
    page = enter(live.person("phone", js=False), FLOOR, at="/counter/floor")
    page.locator(".next-up a[href*='open=']").first.click()
    expect(page.locator("details[open]")).to_have_count(1)
    expect(page.locator("details[open] .tags")).to_be_visible()
