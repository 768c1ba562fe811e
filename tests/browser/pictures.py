"""`make pictures`: the screenshots of the README, taken from a demo portal as a user sees it."""

import contextlib
import re
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright
from werkzeug.serving import make_server

from portal.cli.demo import PASSWORD, prepare
from portal.settings import Settings
from portal.web.app import create_app
from tests.browser.conftest import chromium_arguments, chromium_path
from tests.browser.turns import press

FOLDER = Path(__file__).resolve().parents[2] / ".readme"
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 800}


@contextlib.contextmanager
def demo() -> Iterator[tuple[str, str]]:
    """Run a demo portal; yield its address and the path of a job in work."""
    with tempfile.TemporaryDirectory(prefix="portal-pictures-") as folder:
        settings = Settings(
            database_url=f"sqlite:///{folder}/portal.sqlite3",
            base_url="http://127.0.0.1:8000",
            secret_key="for these pictures",
            data_dir=Path(folder),
            demo=True,
        )
        says = prepare(settings)
        server = make_server("127.0.0.1", 0, create_app(settings), threaded=True)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}", re.search(r"/J/\w+", says).group(0)
        server.shutdown()


def window(browser: Browser, url: str, size: dict[str, int], theme: str) -> Page:
    context = browser.new_context(
        base_url=url, viewport=size, color_scheme=theme, locale="en-GB", device_scale_factor=1
    )
    return context.new_page()


def keep(page: Page, name: str) -> None:
    page.wait_for_load_state("networkidle")
    page.screenshot(path=FOLDER / f"{name}.png")


def customer(browser: Browser, url: str, theme: str) -> None:
    """Walk the pages with four bronze wheels that come with everything on them."""
    page = window(browser, url, PHONE, theme)
    page.goto("/")
    keep(page, f"landing-{theme}")
    press(page.get_by_role("button", name="Describe your parts"))
    page.get_by_label("What size?").fill("8½J×18 H2 ET35 5x112")
    page.locator("input[name=build][value=cast]").check(force=True)
    press(page.get_by_role("button", name="Continue").last)
    press(page.get_by_role("button", name="Continue").last)
    page.locator("figure, .exploded, svg").last.scroll_into_view_if_needed()
    keep(page, f"comes-off-{theme}")
    press(page.get_by_role("button", name="Continue").last)
    page.locator("input[name$=-system][value=base_clear]").check(force=True)
    page.wait_for_load_state("networkidle")
    page.locator("input[value=EMBER-S]").first.check(force=True)
    # the drawing and the price follow a moment after the choice
    with page.expect_response(re.compile("/price")):
        page.locator("input[value=EMBER-S]").first.dispatch_event("change")
    page.wait_for_load_state("networkidle")
    page.evaluate("scrollTo(0, 0)")
    keep(page, f"finish-{theme}")
    page.context.close()


def waiting(browser: Browser, url: str, job: str, theme: str) -> None:
    page = window(browser, url, PHONE, theme)
    page.goto(job)
    keep(page, f"status-{theme}")
    page.context.close()
    page = window(browser, url, {"width": 1000, "height": 1050}, theme)
    page.goto(f"{job}/slip")
    keep(page, f"slip-{theme}")
    page.context.close()


def staff(browser: Browser, url: str, theme: str) -> None:
    page = window(browser, url, DESK, theme)
    page.goto("/counter/sign-in")
    page.locator("input[name=login]").fill("office")
    page.locator("input[name=password]").fill(PASSWORD)
    press(page.get_by_role("button", name="Sign in"))
    page.goto("/counter/floor")
    keep(page, f"floor-{theme}")
    page.goto("/counter/today")
    keep(page, f"today-{theme}")
    page.context.close()


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    with demo() as (url, job), sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium_path(), args=chromium_arguments()
        )
        for theme in ("light", "dark"):
            customer(browser, url, theme)
            waiting(browser, url, job, theme)
            staff(browser, url, theme)
        browser.close()


if __name__ == "__main__":
    main()
