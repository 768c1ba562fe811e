"""The shared device in a real browser: it locks itself, a colleague opens it, nothing is lost."""

import pytest
from playwright.sync_api import expect

from portal.orders.access import my_account
from portal.orders.office.people import people
from tests.browser.turns import press
from tests.cast import COUNTER, FLOOR, OFFICE

pytestmark = pytest.mark.browser


def enter(page, who, *, shared=False) -> None:
    page.goto("/counter/sign-in")
    page.get_by_label("Your sign-in name").fill(who.login)
    page.get_by_label("Password").fill(who.password)
    if shared:
        page.get_by_label("This device is shared").check()
    press(page.get_by_role("button", name="Sign in"))


def give_pin(app, who, pin) -> None:
    unit = app.extensions["unit"]
    found = next(one for one in people(unit) if one.login == who.login)
    my_account.set_pin(unit, found.person_id, password=who.password, pin=pin)


def test_a_quiet_shared_device_locks_its_screen_and_opens_by_pin(live, app, pictures) -> None:
    give_pin(app, FLOOR, "2580")
    page = live.person("phone")
    page.clock.install()
    enter(page, COUNTER, shared=True)
    page.goto("/counter/me")
    page.clock.fast_forward("04:50")
    assert page.url.endswith("/counter/me")
    page.clock.fast_forward("00:30")
    page.wait_for_url("**/counter/locked**")
    pictures(page, "locked")
    page.get_by_label("Tamsin").check()
    page.get_by_label("Your PIN").fill("2580")
    press(page.get_by_role("button", name="Unlock"))
    page.wait_for_url("**/counter/me")
    expect(page.get_by_role("heading", name="Tamsin")).to_be_visible()


def test_a_device_of_ones_own_stays_open(live) -> None:
    page = live.person("phone")
    page.clock.install()
    enter(page, COUNTER)
    page.goto("/counter/me")
    page.clock.fast_forward("30:00")
    assert page.url.endswith("/counter/me")


@pytest.mark.parametrize("js", [True, False])
def test_a_form_that_comes_too_late_is_sent_after_signing_in(
    live, app, clock, pictures, js
) -> None:
    page = live.person("desktop", js=js)
    enter(page, OFFICE)
    page.goto("/office/prices")
    page.get_by_label("Minimum order").fill("52.50")
    clock.advance(hours=2)
    press(page.get_by_role("button", name="Save"))
    page.wait_for_url("**/counter/sign-in**")
    expect(page.get_by_text("Your entries are saved")).to_be_visible()
    page.get_by_label("Your sign-in name").fill(OFFICE.login)
    page.get_by_label("Password").fill(OFFICE.password)
    press(page.get_by_role("button", name="Sign in"))
    page.wait_for_url("**/counter/held/**")
    pictures(page, "held")
    press(page.get_by_role("button", name="Send it now"))
    page.wait_for_url("**/office/prices")
    with app.extensions["unit"].read() as session:
        assert app.extensions["unit"].shop(session).tariff.minimum == 5250
