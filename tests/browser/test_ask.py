"""A question before booking, in a browser: nothing typed is lost, and the answer leads back."""

import re

import pytest
import sqlalchemy as sa
from playwright.sync_api import Page, expect

from portal.store.tables import Letter
from tests.browser.turns import press
from tests.web.test_intake_photos import a_jpeg

pytestmark = pytest.mark.browser

QUESTION = "What does ET35 mean?\nIt stands on a spoke."
ANSWER = "It is the offset.\nYou need not enter it."


@pytest.mark.parametrize("js", [True, False], ids=["with script", "without script"])
@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_a_half_filled_page_is_asked_about_and_continued(live, unit, desk, size, js) -> None:
    page = live.person(size, js=js)
    page.goto("/")
    press(page.locator(".hero button").first)
    page.locator("#count").fill("3")
    press(page.get_by_role("button", name="Ask us", exact=True))
    expect(page.get_by_role("heading", level=1)).to_have_text("Ask us before you book")
    page.locator("#question").fill(QUESTION)
    page.locator("#photo").set_input_files(
        {"name": "rim.jpg", "mimeType": "image/jpeg", "buffer": a_jpeg().read()}
    )
    send(page)
    expect(page.locator(".wrongs li")).to_have_count(2)
    expect(page.locator("#question")).to_have_value(QUESTION)
    expect(page.get_by_alt_text("Your photo")).to_be_visible()
    page.locator("#name").fill("Robin Sample")
    page.locator("#email").fill("robin@example.com")
    send(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("We have your question")
    press(page.get_by_role("link", name="Continue your order"))
    expect(page.locator("#count")).to_have_value("3")
    answer(desk)
    page.goto(link_of(unit))
    told = page.locator("details.flash")
    expect(told).to_have_attribute("open", "")
    expect(told).to_contain_text("You need not enter it.")
    expect(page.locator("#count")).to_have_value("3")


def send(page: Page) -> None:
    press(page.get_by_role("button", name="Send the question"))


def answer(desk: Page) -> None:
    """The office finds the question on its first page and answers it."""
    desk.goto("/counter/today")
    press(desk.get_by_role("link", name=re.compile("Robin Sample")))
    expect(desk.get_by_text("It stands on a spoke.")).to_be_visible()
    desk.locator("#answer").fill(ANSWER)
    press(desk.get_by_role("button", name="Send the answer"))
    expect(desk.get_by_text("Nobody waits for an answer.")).to_be_visible()


def link_of(unit) -> str:
    """The link of the letter with the answer."""
    with unit.read() as session:
        text = session.scalars(
            sa.select(Letter.text).where(Letter.kind == "question_answered")
        ).one()
    return re.search(r"/r/[A-Z2-7]{26}", text)[0]
