"""The people of the story and what each does in the browser: by name and label, as people do."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from playwright.sync_api import Page, expect

from tests.browser.staff import hears
from tests.browser.turns import press, turned
from tests.cast import COUNTER, Staff

BESIDE = re.compile(r"/counter/(floor\?at=(?!inspect)|strip-runs/\d|job/\w+/check-in)")


@dataclass
class Booked:
    """What the customer holds in hand after booking."""

    path: str
    code: str


class Customer:
    """A customer at the seven pages; counts the taps that the shortest way takes."""

    def __init__(self, page: Page, *, js: bool = True) -> None:
        self.page = page
        self.js = js
        self.taps = 0
        self.typed = 0
        self.arrived: Callable[[str], object] = lambda _step: None

    def tap(self, name: str, *, role: str = "button") -> None:
        self.taps += 1
        press(self.page.get_by_role(role, name=name).last)

    def choose(self, label: str, *, exact: bool = False) -> None:
        self.taps += 1
        self.page.get_by_label(label, exact=exact).first.check(force=True)

    def type(self, label: str, text: str) -> None:
        self.taps += 1
        self.typed += 1
        self.page.get_by_label(label).first.fill(text)

    def on(self, step: str) -> None:
        expect(self.page).to_have_url(re.compile(rf"/o/[A-Z2-7]+/{step}"))
        self.arrived(step)

    def book_wheels(self, shoot=lambda _page, _name: None, *, bare: bool = False) -> Booked:
        """Book four ordinary wheels the shortest way; `shoot` is called on every page."""
        page = self.page
        page.goto("/")
        shoot(page, "0-landing")
        self.tap("Describe your parts")
        self.on("parts")
        self.type("What size?", "8½J×18 H2 ET35 5x112")
        self.taps += 1
        page.locator("input[name=build][value=cast]").check(force=True)
        shoot(page, "1-parts")
        self.tap("Continue")
        self.on("on-them")
        shoot(page, "2-on-them")
        self.tap("Continue")
        self.on("comes-off")
        if bare:
            self.choose("Bare already")
            # bare wheels come one way: nothing is left to compare once the page has changed
            expect(page.locator("[data-region=ways] table")).to_have_count(0)
        shoot(page, "3-comes-off")
        self.tap("Continue")
        self.on("finish")
        self.taps += 1
        page.locator("input[name$='-colour']").first.check(force=True)
        shoot(page, "4-finish")
        self.tap("Continue")
        self.on("day")
        shoot(page, "5-day")
        self.tap("Continue")
        self.on("you")
        self.type("Name", "Robin O’Sample")
        self.type("E-mail", "robin@example.com")
        self.type("Phone", "07700 900123")
        shoot(page, "6-you")
        self.tap("Continue")
        self.on("read-back")
        for box in page.get_by_role("checkbox").all():
            self.taps += 1
            box.check(force=True)
        shoot(page, "7-read-back")
        self.book()
        return self.booked()

    def book(self) -> None:
        self.taps += 1
        press(self.page.get_by_role("button", name="Book", exact=True))

    def booked(self) -> Booked:
        expect(self.page).to_have_url(re.compile(r"/J/[A-Z2-7]{26}"))
        path = re.search(r"/J/[A-Z2-7]{26}", self.page.url).group(0)
        code = re.search(r"\b[0-9A-Z]{4}-[0-9A-Z]{4}\b", self.page.inner_text("main")).group(0)
        return Booked(path, code)


class Hand:
    """Somebody at the counter or on the floor, with a scanner that types and presses Enter."""

    def __init__(self, page: Page, who: Staff = COUNTER, *, js: bool = True) -> None:
        self.page = page
        self.who = who
        self.js = js
        self.taps = 0

    def sign_in(self) -> None:
        page = self.page
        page.goto("/counter/sign-in")
        page.locator("input[name=login]").fill(self.who.login)
        page.locator("input[name=password]").fill(self.who.password)
        press(page.get_by_role("button", name="Sign in"))
        expect(page).to_have_url(re.compile(r"/counter/"))

    def scan(self, text: str) -> None:
        """Type as a scanner does: nothing is clicked first, the field has the focus."""
        hears(self.page, js=self.js)
        self.page.keyboard.type(text)
        # with script a tag at check-in, on a station or a run goes out beside the page
        beside = self.js and not text.startswith("AT-") and BESIDE.search(self.page.url)
        went = self.page.expect_response("**/counter/scans") if beside else turned(self.page)
        with went:
            self.page.keyboard.press("Enter")

    def tap(self, name: str | re.Pattern[str]) -> None:
        self.taps += 1
        press(self.page.get_by_role("button", name=name).first)

    def stages(self, code: str) -> str:
        self.page.goto(f"/counter/job/{code.replace('-', '')}")
        return self.page.inner_text("main")
