"""A whole set at the inspection: the gauge walks from part to part, and four presses do it all."""

import pytest
from playwright.sync_api import expect

from portal.shop.route import PartStage
from tests.browser.staff import enter, hears
from tests.browser.turns import press
from tests.cast import FLOOR
from tests.factories import a_job_at, stages

pytestmark = pytest.mark.browser


def test_a_set_is_inspected_in_four_presses_beside_the_gauge(live, unit, pictures) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    page = enter(live.person("desktop"), FLOOR, at="/counter/floor")
    page.locator("#at-inspect summary").click()  # 1: the card
    expect(page.locator("#at-inspect details[open]")).to_be_visible()
    press(page.get_by_role("link", name="Inspect the set"))  # 2: its page
    hears(page)
    areas = page.locator("textarea[data-gauge]")
    expect(areas).to_have_count(4)
    for n in range(60):
        # the gauge types wherever the focus is: it was set by nobody
        page.keyboard.type(str(74 + n % 3))
        page.keyboard.press("Enter")
        expect(page.locator("#scan")).to_have_value("")
    for n in range(4):
        expect(areas.nth(n)).to_have_value("\n".join(["74 75 76"] * 5))
    pictures(page, "measured")
    page.get_by_label("Surface and colour of all parts OK").check(force=True)  # 3
    press(page.get_by_role("button", name="Check the readings"))  # 4
    expect(page.get_by_text("Passed: 101, 102, 103, 104.")).to_be_visible()
    assert PartStage.INSPECT not in stages(unit, job)


def test_the_open_part_is_marked_and_what_was_typed_comes_back(live, unit, pictures) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    page = enter(live.person("phone"), FLOOR, at="/counter/floor?at=inspect")
    page.locator("#at-inspect summary").click()
    expect(page.locator("#at-inspect details[open]")).to_be_visible()
    press(page.get_by_role("link", name="Inspect the set"))
    hears(page)
    for _ in range(16):
        page.keyboard.type("75")
        page.keyboard.press("Enter")
        expect(page.locator("#scan")).to_have_value("")
    second = page.locator("textarea[data-gauge]").nth(1)
    expect(second).to_have_value("75")
    expect(second).to_have_attribute("data-now", "")
    pictures(page, "second")
    page.reload()
    expect(page.locator("textarea[data-gauge]").nth(1)).to_have_value("75")
    expect(page.locator("textarea[data-gauge]").nth(0)).to_have_value("\n".join(["75 75 75"] * 5))
    assert set(stages(unit, job)) == {PartStage.INSPECT}
