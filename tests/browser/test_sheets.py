"""The office's sheets on a desk: their parts and the one Save stay beside what is typed."""

import pytest
from playwright.sync_api import expect

from tests.browser.staff import enter, scan
from tests.browser.turns import press, unfold
from tests.cast import OFFICE
from tests.factories import a_job_in_work

pytestmark = pytest.mark.browser


def test_the_prices_keep_their_parts_and_save_beside_them(live) -> None:
    office = enter(live.person("desktop"), OFFICE, at="/office/prices")
    office.set_viewport_size({"width": 1280, "height": 900})
    assert office.evaluate("document.documentElement.scrollHeight") < 5_000
    parts = office.get_by_role("complementary", name="Parts of this page")
    parts.get_by_role("link", name="Deposit").click()
    expect(office.get_by_role("heading", name="Deposit")).to_be_in_viewport()
    expect(parts.get_by_role("link", name="Wheels")).to_be_in_viewport()
    save = office.get_by_role("button", name="Save")
    expect(save).to_be_in_viewport()
    office.get_by_label("Minimum order").fill("52.50")
    press(save)
    expect(office.get_by_text("Saved: one change.")).to_be_visible()
    expect(office.get_by_label("Minimum order")).to_have_value("52.50")


def test_on_a_phone_save_sticks_to_the_foot_and_the_parts_open(live) -> None:
    office = enter(live.person("phone"), OFFICE, at="/office/prices")
    expect(office.get_by_role("button", name="Save")).to_be_in_viewport()
    unfold(office, "Parts of this page")
    office.locator(".sheet-fold").get_by_role("link", name="Deposit").click()
    expect(office.get_by_role("heading", name="Deposit")).to_be_in_viewport()
    expect(office.get_by_role("button", name="Save")).to_be_in_viewport()


def test_the_office_takes_a_scan_from_any_of_its_pages(live, unit) -> None:
    job = a_job_in_work(unit)
    office = enter(live.person("desktop"), OFFICE, at="/office/letters")
    scan(office, "101")
    office.wait_for_url(f"**/counter/job/{job.code}?part=1")
