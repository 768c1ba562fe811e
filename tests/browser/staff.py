"""What people at the counter and on the floor do with a page: come in, scan, read what it says."""

import re

from playwright.sync_api import Page, expect

from tests.cast import COUNTER, Staff, token_of


def enter(page: Page, who: Staff = COUNTER, *, at: str = "/counter/today", **more: str) -> Page:
    """Sign in by the door's own form, undrawn: `test_lock` and the story walk the drawn door."""
    knock = page.context.request
    answer = knock.post(
        "/counter/sign-in",
        form={
            "login": who.login,
            "password": who.password,
            "csrf_token": token_of(knock.get("/counter/sign-in").text()),
            **more,
        },
        max_redirects=0,
    )
    assert answer.status == 303, answer.text()
    page.goto(at)
    return page


def hears(page: Page, *, js: bool = True) -> None:
    """Wait, as whoever holds a scanner does, for a page that is there and takes keys."""
    ready = "form[data-scan][data-hears]" if js else "#scan:focus"
    expect(page.locator(ready)).to_be_visible()


def scan(page: Page, text: str, *, js: bool = True) -> None:
    """What a hand scanner does: it types wherever the focus is, and presses Enter."""
    hears(page, js=js)
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def says(page: Page, text: str | re.Pattern[str]) -> None:
    expect(page.get_by_role("status").filter(has_text=text).first).to_be_visible()
