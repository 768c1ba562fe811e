"""The whole intake with a keyboard alone, with script and without; focus is seen at every stop."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.layout.judge import HELPERS
from tests.browser.turns import press, turned

pytestmark = pytest.mark.browser

TYPED = {
    "size": "8Jx18 ET35",
    "name": "Robin Sample",
    "email": "robin@example.com",
    "phone": "07700 900123",
}
# one press of the space bar where a choice is needed and nothing is chosen yet
CHOSEN = {"build", "A-gloss", "A-colour", "confirmed"}
STOPS = 150
WHERE = """() => { const e = document.activeElement; return {name: e.name || "", type: e.type || "",
  act: Boolean(e.closest(".bar") || e.closest(".hero")) && e.type === "submit",
  chosen: Boolean(e.name && document.querySelector(`[name="${e.name}"]:checked`))} }"""


class Keys:
    """A person without a mouse; `faults` are the stops whose focus could not be seen."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.faults: list[str] = []

    def through_the_page(self) -> None:
        """Tab through everything, answer what must be answered, and press the main button."""
        self.page.evaluate(HELPERS)
        answered: set[str] = set()
        for _ in range(STOPS):
            self.page.keyboard.press("Tab")
            here = self.page.evaluate(WHERE)
            self.look()
            if here["act"]:
                self.enter()
                return
            self.answer(here, answered)
        raise AssertionError(f"no main button within {STOPS} stops of {self.page.url}")

    def answer(self, here: dict[str, Any], answered: set[str]) -> None:
        name = here["name"]
        if name in answered:
            return
        if name in TYPED:
            self.page.keyboard.type(TYPED[name])
        elif name in CHOSEN and not here["chosen"]:
            self.page.keyboard.press("Space")
        else:
            return
        answered.add(name)

    def enter(self) -> None:
        before = self.page.url
        with turned(self.page):
            self.page.keyboard.press("Enter")
        wrong = self.page.locator(".wrongs")
        assert self.page.url != before, wrong.inner_text() if wrong.count() else before

    def look(self) -> None:
        seen = self.page.evaluate("() => measure.focused()")
        if seen and not seen["marked"]:
            self.faults.append(f"{self.page.url}: no mark on {seen['name']}")
        if seen and seen["covered"]:
            self.faults.append(f"{self.page.url}: {seen['name']} is covered")


@pytest.mark.parametrize("js", [True, False], ids=["with script", "without script"])
@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_an_order_is_booked_with_the_keyboard_alone(live, js: bool, size: str) -> None:
    page = live.person(size, js=js)
    page.goto("/")
    keys = Keys(page)
    for _ in range(8):
        keys.through_the_page()
    assert "/J/" in page.url
    expect(page.locator("h1")).to_contain_text("Bring your parts on")
    assert not keys.faults, "\n".join(keys.faults)


def test_arrows_change_a_choice_and_never_send_the_page(live) -> None:
    page = live.person("phone")
    page.goto("/")
    press(page.get_by_role("button", name="Describe your parts"))
    page.locator("#kind-0").focus()
    before = page.url
    page.keyboard.press("ArrowDown")
    expect(page.locator("#kind-1")).to_be_checked()
    assert page.url == before


def test_the_list_of_errors_takes_focus_and_leads_to_the_field(live) -> None:
    page = live.person("phone")
    page.goto("/")
    press(page.get_by_role("button", name="Describe your parts"))
    page.locator("#count").fill("0")
    press(page.get_by_role("button", name="Continue"))
    expect(page.locator(".wrongs")).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator("#count")).to_be_focused()


def test_the_first_stop_leads_past_the_head_of_the_page(live) -> None:
    page = live.person("desktop")
    page.goto("/why-powder")
    page.keyboard.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#main")).to_be_focused()
