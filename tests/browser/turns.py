"""Actions that turn the page: each returns when the new page is there, never on the old one.

A click returns as soon as the browser has taken it; on a busy machine the next line would still
read the page that is about to go.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Locator, Page, expect

PATIENCE_MS = 30_000  # workers share two cores with a browser each: slow is not wrong


@contextmanager
def turned(page: Page) -> Iterator[None]:
    """Wait after the body until the page that it leads to is there and loaded."""
    with page.expect_navigation(timeout=PATIENCE_MS):
        yield


def press(target: Locator) -> None:
    """Click a link or a button that leads to another page, and wait for that page."""
    with turned(target.page):
        target.click()


def unfold(page: Page, summary: str) -> None:
    """Open the details under `summary`, and wait until what is in it can be used."""
    page.locator("summary").filter(has_text=summary).click()
    opened = page.locator("details[open]").filter(has_text=summary)
    expect(opened.first).to_be_visible()
