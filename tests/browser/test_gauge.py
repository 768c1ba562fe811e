"""A gauge at an inspection: whatever number it types is a reading of the one part that is open."""

import pytest
from playwright.sync_api import Page, expect

from portal.shop.route import PartStage
from tests.browser.staff import enter, hears, says, scan
from tests.browser.turns import press
from tests.factories import WHEELS, a_job_at, accept, stages

pytestmark = pytest.mark.browser
ONE = {**WHEELS, "count": 1}
TYPED = """(field, typed) => {
  field.focus();
  for (const key of [...typed, "Enter"]) {
    const event = new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true });
    if (field.dispatchEvent(event) && key.length === 1) field.value += key;
  }
}"""
SPOT = ("128", "131", "127", "140", "133")


def readings(page: Page):
    return page.get_by_label("Film thickness readings")


def at_once(page: Page, *typed: str) -> None:
    """Type as a gauge does, each number with its Enter and no pause between."""
    for one in typed:
        page.keyboard.type(one)
        page.keyboard.press("Enter")


@pytest.fixture
def jobs(unit):
    """A part to be measured, and another customer's with a tag that could be its film."""
    own = a_job_at(unit, PartStage.INSPECT, ONE)
    return own, a_job_at(unit, PartStage.INSPECT, ONE, first_tag=131)


@pytest.mark.parametrize("js", [True, False])
def test_readings_stay_on_the_one_part(live, unit, jobs, js) -> None:
    own, other = jobs
    page = enter(live.person("phone", js=js), at=f"/counter/part/{own.part_ids[0]}/inspect")
    for one in SPOT:
        scan(page, one, js=js)
        expect(page.get_by_role("heading", level=1)).to_have_text("Inspect part 1")
    assert page.url.partition("?")[0].endswith(f"/part/{own.part_ids[0]}/inspect")
    expect(readings(page)).to_have_value("128 131 127\n140 133")
    assert stages(unit, other) == [PartStage.INSPECT]


def test_a_gauge_types_wherever_the_focus_is(live, jobs) -> None:
    page = enter(live.person("desktop"), at=f"/counter/part/{jobs[0].part_ids[0]}/inspect")
    hears(page)
    readings(page).click()  # at once
    at_once(page, "82,5", "131")
    expect(readings(page)).to_have_value("82,5 131 ")
    # key after key at a gauge's pace, however busy this machine is
    for one in ("82,5", "131"):
        page.get_by_label("Gloss at 60°").evaluate(TYPED, one)
    page.locator("h1").click()  # at once
    at_once(page, "82,5", "131")
    expect(readings(page)).to_have_value("82,5 131 82,5\n131 82,5 131")
    # no Enter has sent the verdict, and no film was taken for a gloss
    expect(page.get_by_label("Gloss at 60°")).to_have_value("")
    expect(page.locator("[data-means]")).to_contain_text("1: 98.7")
    expect(page.get_by_text("There is a problem")).to_have_count(0)


def test_keys_behind_the_verdict_land_on_no_other_part(live, unit, jobs) -> None:
    own, other = jobs
    page = enter(live.person("desktop"), at=f"/counter/part/{own.part_ids[0]}/inspect")
    for _ in range(15):
        scan(page, "75")
    page.get_by_label("Surface and colour OK").check(force=True)
    verdict = page.get_by_role("button", name="Check the readings")
    verdict.click(no_wait_after=True)  # at once
    # the gauge goes on while the page turns, and on the page that follows
    at_once(page, "131", "131")
    page.wait_for_url("**/job/**")
    hears(page)
    at_once(page, "131")
    expect(page.locator("body")).to_contain_text("131 was not used")
    assert stages(unit, own) == [PartStage.DONE]
    assert stages(unit, other) == [PartStage.INSPECT]
    assert "/inspect" not in page.url.partition("?")[0]


def test_a_part_is_opened_by_its_code_and_by_its_tag_from_elsewhere(live, unit, jobs) -> None:
    own, other = jobs
    page = enter(live.person("desktop"), at=f"/counter/part/{own.part_ids[0]}/inspect")
    scan(page, "0131")
    says(page, "0131 was not used")
    scan(page, f"{other.code}-1")
    page.wait_for_url(f"**/part/{other.part_ids[0]}/inspect")
    accept(unit, own.part_ids[0])
    page.goto("/counter/floor")
    scan(page, "131")
    page.wait_for_url(f"**/part/{other.part_ids[0]}/inspect")


def test_the_eye_is_asked(live, jobs) -> None:
    page = enter(live.person("desktop"), at=f"/counter/part/{jobs[0].part_ids[0]}/inspect")
    for _ in range(15):
        scan(page, "75")
    assert page.locator("input[name=eye]:checked").count() == 0
    press(page.get_by_role("button", name="Check the readings"))
    expect(page.locator("#eye-wrong")).to_contain_text("Choose what you see")
    # what was measured is still there
    expect(readings(page)).to_have_value("\n".join(["75 75 75"] * 5))
