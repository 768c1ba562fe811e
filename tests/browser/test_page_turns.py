"""A scan is never cut by a page that turns: of tag 1012 no "12" is left over for another part."""

import pytest
from playwright.sync_api import Route, expect

from portal.shop.moves import PartStage
from portal.store.tables import Part
from tests.browser.staff import enter, says, scan
from tests.factories import a_booked_job, a_job_in_work, stages

pytestmark = pytest.mark.browser
AGAIN = "Scan that again."


def tags_of(unit, job) -> list[str | None]:
    with unit.read() as session:
        return [session.get(Part, part).tag for part in job.part_ids]


def test_what_begins_before_the_page_hears_is_asked_for_again(live, unit) -> None:
    job = a_job_in_work(unit)
    page = enter(live.person("phone"))
    page.clock.install()
    page.clock.pause_at("2027-01-01")
    page.goto("/counter/floor?at=blast")
    page.keyboard.type("102")
    page.keyboard.press("Enter")
    says(page, AGAIN)
    expect(page.locator("#scan")).to_have_value("")
    assert stages(unit, job) == [PartStage.PREP] * 4
    page.clock.run_for(500)
    scan(page, "102")
    says(page, "Prep → Blast")


def test_a_code_proves_by_itself_that_nothing_is_missing(live, unit) -> None:
    job = a_booked_job(unit)
    page = enter(live.person("desktop"))
    page.clock.install()
    page.clock.pause_at("2027-01-01")
    page.goto("/counter/floor")
    page.keyboard.type(job.code)
    page.keyboard.press("Enter")
    page.wait_for_url("**/check-in")


def test_an_old_page_takes_no_more_keys_and_the_new_one_says_so(live, unit) -> None:
    job = a_booked_job(unit)
    page = enter(live.person("desktop"), at=f"/counter/job/{job.code}/check-in")
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/counter/scan", hold, times=1)
    with page.expect_request("**/counter/scan"):
        scan(page, "101")
        page.keyboard.type("102")
        page.keyboard.press("Enter")
    held[0].continue_()
    says(page, "Tag 101 is on part 1")
    says(page, AGAIN)
    scan(page, "102")
    says(page, "Tag 102 is on part 2")
    assert tags_of(unit, job) == ["101", "102", None, None]


def test_a_page_that_stays_after_all_takes_scans_again(live, unit) -> None:
    a_job_in_work(unit)
    page = enter(live.person("desktop"), at="/counter/floor?at=blast")
    expect(page.locator("form[data-hears]")).to_be_visible()
    # as before a file that is only fetched
    page.evaluate("dispatchEvent(new Event('beforeunload'))")
    page.keyboard.type("1")
    says(page, AGAIN)
    scan(page, "102")
    says(page, "Prep → Blast")


# what a scanner types right behind its Enter, before the browser has begun to leave
AT_ONCE = """() => {
  const field = document.querySelector("#scan");
  field.value = "AT-COAT";
  field.form.requestSubmit();
  const key = new KeyboardEvent("keydown", { key: "1", bubbles: true, cancelable: true });
  return field.dispatchEvent(key);
}"""


@pytest.mark.parametrize("place", ["arriving", "floor"])
def test_a_page_is_old_from_the_enter_on(live, unit, place) -> None:
    a_job_in_work(unit)
    page = enter(live.person("desktop"), at=f"/counter/{place}")
    expect(page.locator("form[data-hears]")).to_be_visible()
    assert not page.evaluate(AT_ONCE)
    page.wait_for_url("**/floor?at=coat")
    says(page, AGAIN)
