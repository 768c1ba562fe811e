"""Two people at two devices, from the floor to the office: each hears what the other did."""

import re
from datetime import date

import pytest
from playwright.sync_api import expect

from portal.orders.production import strip_runs
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from tests.browser.staff import enter, says, scan
from tests.browser.turns import press
from tests.cast import OFFICE
from tests.factories import PAINTED, a_job_at, a_job_in_work, events, stages, state

pytestmark = pytest.mark.browser


def test_a_strip_run_is_counted_by_two_and_what_is_lost_is_written_off(
    live, unit, phone, desk, pictures
) -> None:
    job = a_job_in_work(unit, PAINTED)
    run = strip_runs.open_run(unit, date(2026, 6, 3), date(2026, 6, 8), who=None)
    for page in (phone, desk):
        page.goto(f"/counter/strip-runs/{run}")
    for page, tag in ((phone, "101"), (desk, "102"), (phone, "103"), (desk, "103")):
        scan(page, tag)
        says(page, f"Tag {tag}")
    says(desk, "Already in this run.")
    press(desk.get_by_role("button", name="Send off"))
    phone.reload()
    for page in (phone, desk):
        scan(page, "101")
        says(page, "Tag 101")
    says(desk, "Counted already.")
    scan(phone, "102")
    says(phone, "Tag 102")
    press(phone.get_by_role("button", name="Finish counting"))
    expect(phone.get_by_text("Missing: tag 103")).to_be_visible()
    expect(phone.get_by_role("link", name="Write off")).to_have_count(0)
    desk.reload()
    press(desk.get_by_role("link", name="Write off"))
    desk.get_by_label("How it was lost").fill("not in the crate")
    pictures(desk, "lost")
    press(desk.get_by_role("button", name="Write it off"))
    says(desk, "Written off.")
    assert state(unit, job) is JobState.WAITING
    # the coater hears that the job waits
    phone.goto("/counter/floor?at=coat")
    scan(phone, "101")
    says(phone, "Waiting for the customer")
    press(desk.get_by_role("button", name="Customer agrees"))
    expect(desk.get_by_text("The customer agreed.")).to_be_visible()
    assert state(unit, job) is JobState.IN_WORK
    scan(phone, "101")
    says(phone, "Blast → Coat")


def test_a_part_is_judged_on_one_device_and_called_ready_on_the_other(
    live, unit, phone, desk
) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    scan(phone, "101")
    scan(desk, "101")
    for page in (phone, desk):
        page.wait_for_url("**/inspect")
    # a gauge types a reading and presses Enter: into the field of the readings, or just anywhere
    phone.get_by_label("Film thickness readings").click()
    for reading in ("72", "75", "71") * 5:
        scan(phone, reading)
    for reading in ("72", "75,5 µm", "71"):
        scan(desk, reading)
    says(desk, "Saved: 71 µm, spot 1, reading 3.")
    # a number that hangs on a wheel which waits here is a reading all the same
    scan(desk, "102")
    says(desk, "Saved: 102 µm, spot 2, reading 1.")
    # another part is opened by its code; back at part 1 its readings have waited
    scan(desk, f"{job.code}-2")
    expect(desk.get_by_role("heading", name="Inspect part 2")).to_be_visible()
    scan(desk, f"{job.code}-1")
    says(desk, "Your earlier readings are back: 4.")
    expect(desk.get_by_label("Film thickness readings")).to_have_value("72 75,5 71\n102")
    for reading in ("77", "73", *("72", "75", "71") * 3):
        scan(desk, reading)
    for page in (phone, desk):
        page.get_by_label("Surface and colour OK").check(force=True)
    press(phone.get_by_role("button", name="Check the readings"))
    says(phone, "accepted")
    press(desk.get_by_role("button", name="Check the readings"))
    expect(desk.get_by_text(re.compile("past inspection|not waiting|at “Done”"))).to_be_visible()
    assert stages(unit, job).count(PartStage.DONE) == 1
    assert len(events(unit, job, "inspect")) == 1
    # the next one goes back for a fault, and the desk can't put the job on the shelf
    press(phone.get_by_role("link", name="Rework"))
    phone.get_by_label("Run or sag").check(force=True)
    press(phone.get_by_role("button", name="Send it back"))
    phone.wait_for_url("**/floor?moved=*")
    desk.goto(f"/counter/job/{job.code}")
    expect(desk.get_by_text("rework 1")).to_be_visible()
    expect(desk.get_by_role("button", name="Ready: onto the shelf")).to_have_count(0)


def test_the_second_to_change_the_prices_hears_of_the_first(live, desk) -> None:
    other = enter(live.person("phone"), OFFICE)
    for page in (desk, other):
        page.goto("/office/prices")
    desk.get_by_label("Minimum order").fill("52.50")
    press(desk.get_by_role("button", name="Save"))
    other.get_by_label("Minimum order").fill("61.00")
    press(other.get_by_role("button", name="Save"))
    expect(other.locator("main")).to_contain_text(re.compile("somebody|changed", re.IGNORECASE))
    expect(other.get_by_label("Minimum order")).to_have_value("61.00")
