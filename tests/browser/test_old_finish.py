"""The page of the old finish in a browser: an answer alone, how many are hurt, one left at home."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.story import Customer
from tests.browser.turns import press

pytestmark = pytest.mark.browser
BY_SCRIPT = pytest.mark.parametrize("js", [True, False], ids=["with script", "without script"])


def at_old_finish(live, *, js: bool = True, size: str = "phone") -> Page:
    customer = Customer(live.person(size, js=js), js=js)
    customer.page.goto("/")
    customer.tap("Describe your parts")
    customer.type("What size?", "8Jx18 ET35")
    customer.page.locator("input[name=build][value=cast]").check(force=True)
    customer.tap("Continue")
    customer.on("on-them")
    return customer.page


def open_damage(page: Page) -> None:
    page.locator("details.damage > summary").click()
    expect(page.locator("details.damage")).to_have_attribute("open", "")


def crack_one(page: Page) -> None:
    open_damage(page)
    page.locator("input[name$=damage][value=crack]").check(force=True)
    page.locator("[name$=many_crack]").select_option("1")


def test_not_knowing_takes_the_ticked_paint_off_and_paint_takes_it_off_again(live) -> None:
    page = at_old_finish(live)
    paint, unknown = (
        page.locator(f"input[name$=layers][value={value}]")
        for value in ("factory_paint", "unknown")
    )
    expect(paint).to_be_checked()
    page.get_by_text("Don't know", exact=True).first.click()
    expect(unknown).to_be_checked()
    expect(paint).not_to_be_checked()
    paint.check(force=True)
    expect(unknown).not_to_be_checked()


def test_without_script_not_knowing_beside_the_ticked_paint_is_no_error(live) -> None:
    page = at_old_finish(live, js=False)
    page.locator("input[name$=layers][value=unknown]").check(force=True)
    press(page.get_by_role("button", name="Continue", exact=True))
    expect(page).to_have_url(re.compile("/comes-off"))
    page.goto(page.url.replace("/comes-off", "/on-them"))
    expect(page.locator("input[name$=layers][value=unknown]")).to_be_checked()
    expect(page.locator("input[name$=layers][value=factory_paint]")).not_to_be_checked()


@BY_SCRIPT
def test_how_many_are_hurt_is_asked_once_a_damage_is_ticked(live, js) -> None:
    page = at_old_finish(live, js=js)
    open_damage(page)
    how_many = page.locator("[name$=many_corrosion]")
    which = page.locator("[name$=which]")
    expect(how_many).to_be_hidden()
    expect(which).to_be_hidden()
    page.locator("input[name$=damage][value=corrosion]").check(force=True)
    expect(how_many).to_be_visible()
    expect(which).to_be_visible()
    expect(page.locator("[name$=many_kerb_rash]")).to_be_hidden()
    page.locator("input[name$=damage][value=corrosion]").uncheck(force=True)
    expect(how_many).to_be_hidden()


@BY_SCRIPT
@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_one_cracked_wheel_stays_at_home_and_the_other_three_go_on(live, js, size) -> None:
    page = at_old_finish(live, js=js, size=size)
    crack_one(page)
    page.locator("input[name$=damage][value=kerb_rash]").check(force=True)
    page.locator("[name$=many_kerb_rash]").select_option("2")
    press(page.get_by_role("button", name="Continue", exact=True))
    refused = page.locator("#refused")
    expect(refused).to_be_visible()
    leave = refused.get_by_role("button", name=re.compile("Leave this one at home"))
    expect(leave).to_have_text("Leave this one at home and go on with the other 3")
    press(leave)
    expect(page).to_have_url(re.compile("/comes-off"))
    expect(page.locator("#refused")).to_have_count(0)
    page.goto(page.url.replace("/comes-off", "/on-them"))
    expect(page.locator("input[name$=damage][value=crack]")).not_to_be_checked()
    expect(page.locator("input[name$=damage][value=kerb_rash]")).to_be_checked()
    expect(page.locator("[name$=many_kerb_rash]")).to_have_value("2")


def test_one_is_left_at_home_beside_the_damage_before_it_is_refused(live) -> None:
    page = at_old_finish(live)
    crack_one(page)
    press(page.get_by_role("button", name="Leave these at home and go on with the rest"))
    expect(page).to_have_url(re.compile("/comes-off"))
    page.goto(page.url.replace("/comes-off", "/parts/A"))
    expect(page.locator("#count")).to_have_value("3")
