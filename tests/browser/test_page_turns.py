"""A scan is never cut by a page that turns: of tag 1012 no "12" is left over for another part."""

import pytest
from playwright.sync_api import Page, Route, expect

from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Part
from tests.browser.staff import enter, hears, says, scan
from tests.browser.turns import press, unfold
from tests.factories import a_booked_job, a_job_in_work, stages, state

pytestmark = pytest.mark.browser
AGAIN = "Scan again."


class Held:
    """A request that waits on its way to the server until it is let go."""

    def __init__(self) -> None:
        self._routes: list[Route] = []

    def __call__(self, route: Route) -> None:
        self._routes.append(route)

    def let_go(self, page: Page) -> None:
        for _ in range(600):
            if self._routes:
                break
            page.wait_for_timeout(50)
        self._routes[0].continue_()


def tags_of(unit, job) -> list[str | None]:
    with unit.read() as session:
        return [session.get(Part, part).tag for part in job.part_ids]


def type_before_it_hears(page: Page, address: str, typed: str) -> None:
    """Scan on a page whose clock stands still: it never comes to hear surely."""
    page.clock.install()
    page.clock.pause_at("2027-01-01")
    page.goto(address)
    page.keyboard.type(typed)
    page.keyboard.press("Enter")


def test_what_begins_before_the_page_hears_is_asked_for_again(live, unit) -> None:
    job = a_job_in_work(unit)
    page = enter(live.person("phone"))
    type_before_it_hears(page, "/counter/floor?at=blast", "102")
    says(page, AGAIN)
    expect(page.locator("#scan")).to_have_value("")
    assert stages(unit, job) == [PartStage.PREP] * 4
    page.clock.run_for(500)
    scan(page, "102")
    says(page, "Prep → Blast")


def test_a_code_proves_by_itself_that_nothing_is_missing(live, unit) -> None:
    job = a_booked_job(unit)
    page = enter(live.person("desktop"))
    type_before_it_hears(page, "/counter/floor", job.code)
    page.wait_for_url("**/check-in")


def test_an_old_page_takes_no_more_keys_and_the_new_one_says_so(live, unit) -> None:
    job = a_booked_job(unit)
    page = enter(live.person("desktop"))
    held = Held()
    page.route("**/counter/scan", held, times=1)
    scan(page, job.code)
    page.keyboard.type("102")
    page.keyboard.press("Enter")
    held.let_go(page)
    page.wait_for_url("**/check-in")
    says(page, AGAIN)
    assert tags_of(unit, job) == [None] * 4
    scan(page, "102")
    says(page, "Tag 102 is on part 1")


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


@pytest.mark.parametrize("place", ["today", "floor"])
def test_a_page_is_old_from_the_enter_on(live, unit, place) -> None:
    a_job_in_work(unit)
    page = enter(live.person("desktop"), at=f"/counter/{place}")
    expect(page.locator("form[data-hears]")).to_be_visible()
    assert not page.evaluate(AT_ONCE)
    page.wait_for_url("**/floor?at=coat")
    says(page, AGAIN)


def test_tags_at_check_in_may_follow_each_other_without_a_pause(live, unit) -> None:
    job = a_booked_job(unit)
    page = enter(live.person("phone"), at=f"/counter/job/{job.code}/check-in")
    unfold(page, "Stamps and casting dates")
    page.locator("#stamp-1").fill("0423 A")
    page.locator("h1").click()
    hears(page)
    for tag in ("101", "102", "103", "104"):
        page.keyboard.type(tag)
        page.keyboard.press("Enter")
    says(page, "Tag 104 is on part 4. All tagged.")
    expect(page.locator(".parts .tag")).to_have_text(["101", "102", "103", "104"])
    assert tags_of(unit, job) == ["101", "102", "103", "104"]
    # what was typed and not sent is still there
    expect(page.locator("#stamp-1")).to_have_value("0423 A")
    expect(page.locator(".scan-label")).to_have_text("Scan or type")


def test_a_refused_tag_stays_to_be_read_when_the_next_one_counts(live, unit) -> None:
    other = a_job_in_work(unit)
    job = a_booked_job(unit)
    page = enter(live.person("phone"), at=f"/counter/job/{job.code}/check-in")
    scan(page, "101")
    says(page, other.code[:4])
    scan(page, "111")
    says(page, "Tag 111 is on part 1")
    expect(page.locator("[data-scan-before]")).to_contain_text(other.code[:4])


def test_a_chosen_part_takes_one_tag_and_a_refused_tag_leaves_it_chosen(live, unit) -> None:
    other = a_job_in_work(unit)
    job = a_booked_job(unit)
    page = enter(live.person("desktop"), at=f"/counter/job/{job.code}/check-in")
    scan(page, f"{job.code}-3")
    page.wait_for_url("**/check-in?part=3")
    scan(page, "101")
    says(page, f"{other.code[:4]}-{other.code[4:]}")
    expect(page.locator(".scan-label")).to_have_text("Tag for part 3")
    scan(page, "111")
    says(page, "Tag 111 is on part 3")
    expect(page.locator(".scan-label")).to_have_text("Scan the tags")
    assert page.url.endswith("/check-in")
    scan(page, "112")
    says(page, "Tag 112 is on part 1")
    assert tags_of(unit, job) == ["112", None, "111", None]


def test_a_press_right_behind_the_last_tag_waits_for_it(live, unit) -> None:
    job = a_booked_job(unit)
    page = enter(live.person("desktop"), at=f"/counter/job/{job.code}/check-in")
    press(page.get_by_role("button", name="All 4 as declared"))
    expect(page.get_by_role("button", name="Receive and start")).to_be_visible()
    held = Held()
    page.route("**/counter/scans", held, times=1)
    scan(page, "101")
    for tag in ("102", "103", "104"):
        page.keyboard.type(tag)
        page.keyboard.press("Enter")  # at once: the press comes before the last tag has counted
    page.get_by_role("button", name="Receive and start").click()
    held.let_go(page)
    says(page, "Received. Work has started.")
    assert state(unit, job) is JobState.IN_WORK
