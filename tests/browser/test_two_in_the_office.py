"""The office at work while others are: what it changes is seen, what they do is kept."""

import re

import pytest
from playwright.sync_api import expect

from portal.orders.kernel.work_card import coat_of
from portal.shop.route import PartStage
from portal.store.tables import Part
from tests.browser.staff import enter, says, scan
from tests.browser.turns import press
from tests.cast import COUNTER, FLOOR, OFFICE
from tests.factories import a_job_at, stages

pytestmark = pytest.mark.browser
STEPS = ("parts", "on-them", "comes-off", "finish")


def save(page, button: str = "Save") -> None:
    press(page.get_by_role("button", name=button).last)


def a_customer_at_the_day(live):
    """A customer on a phone who is about to choose a day."""
    page = live.person("phone")
    page.goto("/")
    press(page.get_by_role("button", name="Describe your parts"))
    page.get_by_label("What size?").fill("8Jx18 ET35")
    page.locator("input[name=build][value=cast]").check(force=True)
    for step in STEPS:
        page.wait_for_url(f"**/{step}")
        if step == "finish":
            page.locator("input[name$='-colour']").first.check(force=True)
        press(page.get_by_role("button", name="Continue").last)
    page.wait_for_url("**/day")
    return page


def days_of(page) -> str:
    return page.locator("main").inner_text()


def test_a_closure_and_a_breakdown_reach_the_customer_who_chooses_a_day(live) -> None:
    customer = a_customer_at_the_day(live)
    office = enter(live.person("desktop"), OFFICE, at="/office/week")
    before = days_of(customer)
    assert "Wednesday 3 June" in before
    first = re.search(r"Ready by (.+)", before).group(1)
    # the office shuts for two days in this very week
    row = office.locator("table").filter(has_text="from").first.locator("tbody tr").last
    for label, text in (("from", "2026-06-03"), ("to", "2026-06-04"), ("why", "Oven service")):
        row.get_by_role("textbox").nth(("from", "to", "why").index(label)).fill(text)
    save(office)
    expect(office.get_by_text("Saved:")).to_be_visible()
    customer.reload()
    shut = days_of(customer)
    assert "Wednesday 3 June" not in shut
    assert "Thursday 4 June" not in shut
    # and the blast room breaks down for a week: what is promised moves
    office.goto("/office/stations/out-of-order")
    office.get_by_label("Blast").check(force=True)
    office.get_by_label("Back in service from").fill("2026-06-15T08:00")
    save(office, "Save")
    expect(office.get_by_text("Blast:")).to_be_visible()
    customer.reload()
    later = re.search(r"Ready by (.+)", days_of(customer)).group(1)
    assert later not in (first, re.search(r"Ready by (.+)", shut).group(1))
    save(office, "Back in service: Blast")
    expect(office.get_by_text("All stations are in service.")).to_be_visible()
    tells(
        office,
        f"{OFFICE.name} changed the week.",
        f"{OFFICE.name} changed the stations.",
    )


def tells(office, *sentences: str) -> None:
    """Look into the log: each sentence stands there, with the name of who did it."""
    office.goto("/office/doing")
    for sentence in sentences:
        expect(office.locator(".log tr").filter(has_text=sentence).first).to_be_visible()


def test_the_office_weighs_a_powder_while_the_floor_coats_with_it(live, unit) -> None:
    job = a_job_at(unit, PartStage.COAT)
    with unit.read() as session:
        coat = coat_of(session.get(Part, job.part_ids[0]).work, 0)
    office = enter(live.person("desktop"), OFFICE, at=f"/office/powders/{coat.powder_code}")
    phone = enter(live.person("phone"), FLOOR, at="/counter/floor?at=cure")
    rows = office.get_by_role("table").get_by_role("row")
    before = rows.count()
    scan(phone, "101")
    says(phone, "Coat → Cure")
    # the office has not looked again: its stocktake tells what the portal had by then
    office.get_by_label("Weight").fill("10")
    save(office, "Stock count")
    says(office, "Counted.")
    expect(rows).to_have_count(before + 2)
    coated = rows.filter(has_text="coated")
    expect(coated.first).to_contain_text(FLOOR.name)
    expect(coated.first).to_contain_text(f"-{coat.grams}")
    expect(rows.filter(has_text="counted").first).to_contain_text(OFFICE.name)
    stock = office.locator("dl").first
    expect(stock).to_contain_text("10 kg")
    # one more coat, taken back at once: the powder is back too
    scan(phone, "102")
    says(phone, "Tag 102")
    press(phone.get_by_role("button", name=re.compile("Undo")))
    says(phone, "back at Coat")
    office.reload()
    expect(rows).to_have_count(before + 4)
    expect(stock).to_contain_text("10 kg")
    tells(office, f"{OFFICE.name} counted a powder.", f"{FLOOR.name} undid a move")


def test_what_others_do_is_in_the_letters_and_in_the_tables(live, unit) -> None:
    job = a_job_at(unit, PartStage.DONE)
    office = enter(live.person("desktop"), OFFICE, at="/office/letters/words")
    office.locator("textarea[name=ready]").fill("Park behind the hall.")
    save(office)
    desk = enter(live.person("phone"), COUNTER, at=f"/counter/job/{job.code}")
    press(desk.get_by_role("button", name="Ready: onto the shelf"))
    expect(desk.get_by_role("link", name="Hand back")).to_be_visible()
    office.goto("/office/letters")
    press(office.locator("main a[href*='/office/letters/']").filter(has_text="ready").first)
    expect(office.locator("main")).to_contain_text("Park behind the hall.")
    office.goto("/office/take-away")
    for name, holds in (("Jobs", job.code), ("What happened to jobs and parts", "make_ready")):
        with office.expect_download() as got:
            office.get_by_role("link", name=name, exact=True).click()
        assert holds in got.value.path().read_text(encoding="utf-8")
    tells(
        office,
        f"{COUNTER.name} put the job on the shelf",
        f"{OFFICE.name} changed the texts of the letters.",
    )


def test_whoever_leaves_is_out_at_once(live, unit) -> None:
    job = a_job_at(unit, PartStage.BLAST)
    office = enter(live.person("desktop"), OFFICE, at="/office/people")
    phone = enter(live.person("phone"), FLOOR, at="/counter/floor?at=coat")
    scan(phone, "101")
    says(phone, "Blast → Coat")
    press(office.get_by_role("link", name=FLOOR.name))
    office.get_by_label("Works here").uncheck(force=True)
    save(office)
    says(office, "Saved.")
    # the scan that comes too late moves nothing, and the phone says that it keeps it
    scan(phone, "102")
    expect(phone.locator(".scan-kept")).to_contain_text("Sign in again")
    assert stages(unit, job).count(PartStage.COAT) == 1
    phone.goto("/counter/floor")
    phone.wait_for_url("**/counter/sign-in**")
    phone.get_by_label("Your sign-in name").fill(FLOOR.login)
    phone.get_by_label("Password").fill(FLOOR.password)
    press(phone.get_by_role("button", name="Sign in"))
    expect(phone.get_by_text("The name or the password is wrong.").first).to_be_visible()
    # what was done stays under its name
    tells(office, f"{OFFICE.name} changed a person: tamsin")
    expect(office.locator(".log tr").filter(has_text="Coat").first).to_contain_text(FLOOR.name)
