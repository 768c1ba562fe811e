"""Five customers as they come, each from the landing page to the slip, on a phone and at a desk.

Each tells what is true of his parts; the slip tells the same back, with the price of the last page.
"""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.story import Customer
from tests.browser.turns import press
from tests.customers.figures import sums

pytestmark = pytest.mark.browser
ON = pytest.mark.parametrize(
    ("size", "js"), [("phone", True), ("desktop", False)], ids=["phone", "desk-no-scripts"]
)


class Flow(Customer):
    """A customer who answers by what stands beside each field, page by page."""

    def begin(self) -> None:
        self.page.goto("/")
        self.tap("Describe your parts")
        self.on("parts")

    def check(self, name: str, value: str) -> None:
        self.page.locator(f"input[name='{name}'][value='{value}']").first.check(force=True)

    def fill(self, name: str, text: str) -> None:
        self.page.locator(f"input[name='{name}']").locator("visible=true").first.fill(text)

    def wheels(self, size: str, *, count: int = 4, build: str = "cast", more: bool = False) -> None:
        """Tell a set of wheels; no size means that it isn't known."""
        self.check("kind", "wheel")
        self.fill("count", str(count))
        if size:
            self.fill("size", size)
        else:
            self.page.locator("input[name=size_open]").check(force=True)
        self.check("build", build)
        self.next_set() if more else self.go_on()

    def others(self, kind: str, count: int, sides: tuple[str, str, str] = ("", "", "")) -> None:
        """Tell a set of other parts; without sides a usual size counts."""
        self.check("kind", kind)
        self.fill("count", str(count))
        for name, side in zip(("length", "width", "height"), sides, strict=True):
            if side:
                self.fill(name, side)
        closed = self.page.locator("input[name=closed][value=none]")
        if closed.locator("xpath=ancestor::label[1]").is_visible():
            closed.check(force=True)
        self.go_on()

    def next_set(self) -> None:
        press(self.page.locator("button[name=then][value=another]"))
        expect(self.page.locator("h1")).to_contain_text("What else")

    def go_on(self) -> None:
        press(self.page.get_by_role("button", name="Continue", exact=True))

    def whereabouts(self, where: str) -> None:
        """Say where the wheels are; without a script a button shows what that means."""
        self.check("where", where)
        if not self.js:
            press(self.page.locator("button[name=then][value=look]").first)
            expect(self.page.locator(f"input[name=where][value={where}]")).to_be_checked()

    def colour(self, key: str, code: str) -> None:
        tile = self.page.locator(f"input[name='{key}-colour'][value='{code}']")
        fold = self.page.locator("details", has=tile).last
        if fold.count() and not tile.is_visible():
            fold.evaluate("one => { one.open = true }")
        tile.check(force=True)

    def finish_booking(self) -> str:
        """Choose the first day, tell who one is, read it over, book; return the last price."""
        self.on("day")
        self.go_on()
        self.on("you")
        self.type("Name", "Robin O’Sample")
        self.type("E-mail", "robin@example.com")
        self.type("Phone", "07700 900123")
        self.go_on()
        self.on("read-back")
        for box in self.page.locator("main input[type=checkbox]").all():
            box.check(force=True)
        price = self.page.locator(".bar-price").inner_text()
        self.book()
        return price

    def slip(self, price: str) -> str:
        """Open the slip; return what it says. Its price is the one of the last page."""
        booked = self.booked()
        self.page.goto(f"{booked.path}/slip")
        text = self.page.locator("main").inner_text()
        assert booked.code in text
        assert sums(price)
        assert sums(price)[0] in sums(self.page.locator(".top-when").inner_text())
        assert sums(price)[0] == sums(self.page.locator("tr.total").inner_text())[0]
        return re.sub(r"\s+", " ", text)


@pytest.fixture
def flow(live, size: str, js: bool) -> Flow:
    one = Flow(live.person(size, js=js), js=js)
    one.begin()
    return one


def no_wheels(page: Page) -> None:
    """The page speaks of no wheels: there are none. The choice of kinds is left out."""
    text = page.locator("main").inner_text()
    assert not re.search(r"\b(?:wheels?|tyres?|rims?)\b", text, re.IGNORECASE), text


@ON
def test_bare_wheels_are_asked_for_no_errand(flow: Flow) -> None:
    flow.wheels("8Jx18 ET35")
    flow.on("on-them")
    flow.go_on()
    flow.on("comes-off")
    flow.whereabouts("bare")
    expect(flow.page.locator("main")).not_to_contain_text("axle stands")
    flow.go_on()
    flow.on("finish")
    flow.colour("A", "R9005-G")
    flow.go_on()
    slip = flow.slip(flow.finish_booking())
    assert "4 × 18 × 8 wheels" in slip
    assert "Jet black" in slip
    assert "You don't need to take anything off" in slip


@ON
def test_complete_wheels_of_which_nothing_is_known_are_booked(flow: Flow) -> None:
    flow.wheels("", build="unknown")
    flow.on("on-them")
    if not flow.page.locator("input[name=A-layers][value=unknown]").is_checked():
        flow.check("A-layers", "unknown")
    flow.go_on()
    flow.on("comes-off")
    flow.whereabouts("off")
    flow.check("bringing", "complete")
    flow.go_on()
    flow.on("finish")
    flow.page.locator("input[name='A-decide_from_sample']").check(force=True)
    flow.go_on()
    slip = flow.slip(price := flow.finish_booking())
    # what nobody knows yet makes the price a span, and the slip says what is left open
    assert "without your yes" in price
    assert "4 × wheels" in slip
    assert "You choose the colour from samples" in slip


@ON
def test_staggered_wheels_with_one_kerbed_one(flow: Flow) -> None:
    flow.wheels("8½Jx19 ET35", count=2, more=True)
    flow.wheels("9½Jx19 ET40", count=2)
    if flow.page.url.endswith("/parts"):
        flow.go_on()
    flow.on("on-them")
    flow.page.locator("details.damage").last.evaluate("one => { one.open = true }")
    flow.check("B-damage", "kerb_rash")
    flow.page.locator("[name='B-many_kerb_rash']").select_option("1")
    flow.go_on()
    flow.on("comes-off")
    flow.go_on()
    flow.on("finish")
    flow.colour("A", "R9005-G")
    if flow.page.locator("input[name='B-colour']").count():
        flow.colour("B", "R9005-G")
    flow.go_on()
    slip = flow.slip(flow.finish_booking())
    assert "2 × 19 × 8½ wheels" in slip or "2 × 19 × 8½ front" in slip
    assert "2 × 19 × 9½ wheels" in slip or "2 × 19 × 9½ rear" in slip
    assert "Kerb damage (1 of 2)" in slip


@ON
def test_wheels_and_calipers_in_two_colours(flow: Flow) -> None:
    flow.wheels("8Jx18 ET35", more=True)
    flow.others("caliper", 2, ("25 cm", "14", "12"))
    if flow.page.url.endswith("/parts"):
        flow.go_on()
    flow.on("on-them")
    flow.go_on()
    flow.on("comes-off")
    expect(flow.page.locator("main")).to_contain_text("can't be driven without its brake calipers")
    flow.go_on()
    flow.on("finish")
    flow.colour("A", "R9005-G")
    own = flow.page.locator("button[name=B-like][value=own]")
    if own.count():
        press(own)
        expect(flow.page.locator("input[name='B-colour']").first).to_be_attached()
    flow.colour("B", "R3020-G")
    flow.go_on()
    slip = flow.slip(flow.finish_booking())
    assert "4 × 18 × 8 wheels" in slip
    assert "2 × calipers" in slip
    assert "Jet black" in slip
    assert "Traffic red" in slip


@ON
def test_six_garden_chairs_are_told_nothing_about_wheels(flow: Flow) -> None:
    flow.others("chair", 6)
    for step in ("on-them", "comes-off", "finish"):
        flow.on(step)
        no_wheels(flow.page)
        if step == "finish":
            flow.colour("A", "R5010-G")
        flow.go_on()
    price = flow.finish_booking()
    slip = flow.slip(price)
    no_wheels(flow.page)
    assert "6 × chairs" in slip
    assert "Gentian blue" in slip
