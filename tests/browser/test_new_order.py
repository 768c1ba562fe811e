"""New order by keyboard alone: four wheels with tyres in one colour, within a minute.

How long a person needs is told by the keystroke-level model: 0.28 s a key (a typist of 40 words a
minute) and 1.35 s to think before each answer. Card, Moran and Newell, "The keystroke-level model
for user performance time with interactive systems", Communications of the ACM 23 (1980) 396–410;
figures from memory.
"""

import pytest
import sqlalchemy as sa
from playwright.sync_api import Page, expect

from portal.shop.moves import JobState
from portal.store.tables import Job
from tests.browser.staff import enter, hears, says, scan
from tests.browser.turns import press

pytestmark = pytest.mark.browser
KEY_S, THINK_S, LIMIT_S = 0.28, 1.35, 60
COUNT = "addEventListener('keydown', () => (sessionStorage.n = +sessionStorage.n + 1 || 1), true)"


class Hands:
    """Two hands on a keyboard, and what they did."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.answers = 0

    def answer(self, enters: int, field: str, keys: str) -> None:
        """Go on with so many Enters to a field, and type."""
        for _ in range(enters):
            self.page.keyboard.press("Enter")
        expect(self.page.locator(f"#{field}")).to_be_focused()
        self.answers += 1
        self.page.keyboard.type(keys)

    @property
    def keys(self) -> int:
        return int(self.page.evaluate("sessionStorage.n"))

    @property
    def seconds(self) -> float:
        return self.keys * KEY_S + self.answers * THINK_S


def settled(page: Page) -> None:
    """The price is that of what stands on the page."""
    expect(page.locator("html:not([data-lives=asking])")).to_be_attached()


def test_four_wheels_with_tyres_in_one_colour_take_less_than_a_minute(live, unit) -> None:
    page = live.person("desktop")
    page.add_init_script(COUNT)
    enter(page, at="/counter/new-order")
    expect(page.locator("#name")).to_be_focused()
    hands = Hands(page)
    hands.answer(0, "name", "Robin Sample")
    hands.answer(1, "phone", "07700 900123")
    hands.answer(5, "A-size", "8Jx18 ET35")
    hands.answer(1, "A-build-0", "c")
    hands.answer(1, "A-layers-0", "o")
    hands.answer(1, "A-on-0", "w")
    hands.answer(5, "A-near", "R9005-S")
    page.keyboard.press("Control+Enter")
    expect(page.locator("#confirmed")).to_be_focused()
    settled(page)
    expect(page.locator(".new-price")).to_contain_text("£")
    hands.answers += 1
    page.keyboard.press("Space")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Taken in")
    print(f"{hands.keys} keys, {hands.answers} answers, {hands.seconds:.0f} s by the model")
    assert hands.seconds < LIMIT_S
    with unit.read() as session:
        job = session.scalars(sa.select(Job)).one()
    one = job.declared["sets"][0]
    assert (one["count"], one["layers"], one["finish"]["colour"]) == (
        4,
        ["factory_paint"],
        "R9005-S",
    )
    assert "tyre" in one["fitted"]


def test_from_the_door_to_work_begun(live, unit) -> None:
    page = enter(live.person("desktop"), at="/counter/new-order")
    page.locator("#name").fill("Robin Sample")
    page.locator("#phone").fill("07700 900123")
    page.locator("#A-size").fill("8Jx18 ET35")
    page.locator("#A-build-0").select_option("cast")
    page.locator("#A-layers-8").check(force=True)  # bare metal
    page.locator("#A-on-2").check(force=True)  # bare
    page.locator("#A-near").fill("R9005-S")
    page.keyboard.press("Control+Enter")
    expect(page.locator("#confirmed")).to_be_focused()
    page.keyboard.press("Space")
    expect(page.locator("#confirmed")).to_be_checked()
    page.keyboard.press("Control+Enter")
    press(page.get_by_role("link", name="Tag the parts"))
    hears(page)
    for tag in ("101", "102", "103", "104"):
        scan(page, tag)
        says(page, tag)
    press(page.get_by_role("button", name="Receive").first)
    expect(page.get_by_text("Received. Work has started.")).to_be_visible()
    with unit.read() as session:
        assert session.scalars(sa.select(Job.state)).all() == [JobState.IN_WORK]


def test_a_letter_picks_an_answer_and_the_arrows_go_along(live) -> None:
    page = enter(live.person("desktop"), at="/counter/new-order")
    page.locator("#A-layers-0").focus()
    page.keyboard.type("p")
    expect(page.locator("#A-layers-1")).to_be_checked()  # powder coat
    page.keyboard.press("ArrowRight")
    expect(page.locator("#A-layers-2")).to_be_focused()
    page.keyboard.press("Space")
    expect(page.locator("#A-layers-2")).to_be_checked()
    page.keyboard.press("Tab")
    expect(page.locator("#A-on-0")).to_be_focused()
    expect(page.locator("#scan")).to_have_value("")


def test_without_a_script_the_same_page_takes_the_order_in(live) -> None:
    page = enter(live.person("phone", js=False), at="/counter/new-order")
    page.locator("#name").fill("Robin Sample")
    page.locator("#phone").fill("07700 900123")
    page.locator("#A-size").fill("8Jx18 ET35")
    page.locator("#A-build-0").select_option("cast")
    page.locator("#A-layers-0").check(force=True)
    page.locator("#A-on-0").check(force=True)
    page.locator("#A-near").fill("R9005-S")
    press(page.get_by_role("button", name="Work out the price"))
    page.locator("#confirmed").check()
    press(page.get_by_role("button", name="Take in"))
    expect(page.get_by_role("heading", level=1)).to_have_text("Taken in")
