"""A real browser (Debian's Chromium) against a real server of our own in this process.

The server's clock is the test's clock, so that a walk may jump a week ahead.
"""

import os
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from flask import Flask
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    Playwright,
    expect,
    sync_playwright,
)
from werkzeug.serving import make_server

from portal.orders.kernel.unit import UnitOfWork
from tests.browser.staff import enter
from tests.browser.turns import PATIENCE_MS
from tests.cast import FLOOR, OFFICE, add_staff

QUIET = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
expect.set_options(timeout=PATIENCE_MS)
WIDTH, HEIGHT = 640, 480  # of the pretended camera
SIZES = {"phone": (390, 844), "desktop": (1280, 900)}


def chromium_arguments() -> list[str]:
    # root has no sandbox to step into
    return [*QUIET, "--no-sandbox"] if os.geteuid() == 0 else QUIET


def chromium_path() -> str:
    # the one without windows of its own has less to do
    names = ("chromium-headless-shell", "chromium", "chromium-browser")
    found = next(filter(None, map(shutil.which, names)), None)
    assert found, "chromium is missing; `make test` installs it"
    return found


@pytest.fixture(scope="session")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the browser's pretended camera shows; it is opened anew whenever a page looks."""
    path = tmp_path_factory.mktemp("camera") / "film.y4m"
    write_film(path, np.full((HEIGHT, WIDTH), 205, np.uint8))
    return path


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="session")
def browser(playwright: Playwright, film: Path) -> Iterator[Browser]:
    pretended = [
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-video-capture={film}",
    ]
    with launched(playwright, *pretended) as running:
        yield running


@contextmanager
def launched(playwright: Playwright, *arguments: str) -> Iterator[Browser]:
    running = playwright.chromium.launch(
        executable_path=chromium_path(), args=[*chromium_arguments(), *arguments]
    )
    yield running
    running.close()


def write_film(path: Path, picture: np.ndarray) -> None:
    """Write a still film of `picture`, in shades of grey, for the pretended camera."""
    colour = np.full((HEIGHT // 2, WIDTH // 2), 128, np.uint8).tobytes() * 2
    frame = b"FRAME\n" + picture.astype(np.uint8).tobytes() + colour
    path.write_bytes(b"YUV4MPEG2 W640 H480 F10:1 Ip A1:1 C420jpeg\n" + frame * 5)


@dataclass
class Live:
    """The running portal, and what went wrong in the pages that were opened."""

    url: str
    app: Flask
    clock: object
    browser: Browser
    contexts: list[BrowserContext] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    def person(self, size: str = "phone", *, js: bool = True, **more: object) -> Page:
        """Open a fresh browser window for one person."""
        width, height = SIZES[size]
        context = self.browser.new_context(
            base_url=self.url,
            viewport={"width": width, "height": height},
            java_script_enabled=js,
            has_touch=size == "phone",
            locale="en-GB",
            timezone_id="Europe/London",
            reduced_motion="reduce",
            # the worker that keeps a page for the time without a network has tests of its own
            **{"service_workers": "block", **more},
        )
        context.set_default_timeout(PATIENCE_MS)
        self.contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: self.wrong.append(f"{page.url}: {error}"))
        page.on("console", lambda said: self._heard(page, said))
        return page

    def _heard(self, page: Page, said: ConsoleMessage) -> None:
        # a refused style or script, or a broken one, is a defect wherever it turns up
        if said.type == "error" and "status of 4" not in said.text:
            self.wrong.append(f"{page.url}: {said.text}")


@pytest.fixture
def live(app, clock, browser: Browser) -> Iterator[Live]:
    add_staff(app.extensions["unit"])
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    running = Live(f"http://127.0.0.1:{server.server_port}", app, clock, browser)
    yield running
    for context in running.contexts:
        context.close()
    server.shutdown()
    thread.join(5)
    assert not running.wrong, running.wrong


@pytest.fixture
def pictures(request: pytest.FixtureRequest) -> Callable[[Page, str], None]:
    """Keep a screenshot under build/walks, for people to look at; they ask by `make walks`."""
    folder = Path(__file__).resolve().parents[2] / "build" / "walks"

    def take(page: Page, name: str) -> None:
        if "WALKS" in os.environ:
            folder.mkdir(parents=True, exist_ok=True)
            page.screenshot(path=folder / f"{request.node.name}-{name}.png", full_page=True)

    return take


__all__ = ["OFFICE"]


@pytest.fixture
def unit(live: Live) -> UnitOfWork:
    """The house behind the pages that are open, to set a scene or to read the record."""
    return live.app.extensions["unit"]


@pytest.fixture
def phone(live: Live) -> Page:
    """A coater's telephone, signed in on the floor."""
    return enter(live.person("phone"), FLOOR, at="/counter/floor")


@pytest.fixture
def desk(live: Live) -> Page:
    """The office's screen, signed in."""
    return enter(live.person("desktop"), OFFICE)
