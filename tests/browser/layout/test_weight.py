"""What a first view weighs on the wire, what may keep it, and that nothing on it jumps."""

import gzip
import http.client
import re
from typing import Any
from urllib.parse import urlsplit

import brotli
import pytest
from playwright.sync_api import Browser

from tests.browser.layout.pages import Unreached
from tests.web.walk import Customer

# the catalogue is taken once: all that looks at it runs in one process
pytestmark = pytest.mark.browser

FIRST_WINDOW = 14_600  # bytes that fit the first round trip, RFC 6928: ten segments of 1,460
SCRIPT = 10_000
# the page, its sheet and script, and four files of type
REQUESTS = 7
ALL_IN_ALL = 56_000
JUMP = 0.04
VIEWS = (
    "/",
    "/why-powder",
    "parts",
    "parts, filled",
    "on-them",
    "comes-off",
    "finish",
    "day",
    "you",
    "read-back",
    "status booked",
    "status in work",
    "status ready",
    "status handed back",
)
STRICT = (
    "default-src 'none'; script-src 'self'; worker-src 'self'; style-src 'self'; img-src 'self'; "
    "font-src 'self'; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; "
    "base-uri 'none'"
)


@pytest.fixture(scope="session")
def order(house) -> Customer:
    return house.ordered_to("read-back")


@pytest.fixture(scope="session")
def fresh(house) -> Customer:
    return house.order()


@pytest.fixture
def address(house, order, fresh, request) -> str:
    view: str = request.param
    if view.startswith("/"):
        return view
    if view.startswith("status "):
        return f"/J/{house.jobs[view.removeprefix('status ')].token}"
    if view == "parts":
        return fresh.url("parts")
    return order.url("parts/A" if view == "parts, filled" else view)


class Fetched:
    """One answer as it came over the wire."""

    def __init__(self, gallery: str, path: str, coding: str, language: str = "en") -> None:
        place = http.client.HTTPConnection(urlsplit(gallery).netloc, timeout=30)
        asked = {"Accept-Encoding": coding, "Cookie": f"lang={language}"}
        place.request("GET", path, headers=asked)
        answer = place.getresponse()
        self.headers = answer.headers
        self.status = answer.status
        self.body = answer.read()
        place.close()

    @property
    def text(self) -> str:
        unpack = {"br": brotli.decompress, "gzip": gzip.decompress, None: bytes}
        return unpack[self.headers["Content-Encoding"]](self.body).decode()


def loaded_by(html: str) -> list[str]:
    """What the browser fetches for a page: sheets, scripts, preloads and pictures at once seen."""
    head = re.findall(r'<link rel="(?:stylesheet|preload)"[^>]*href="([^"]+)"', html)
    scripts = re.findall(r'<script[^>]*src="([^"]+)"', html)
    photos = re.findall(r'<img src="([^"]+)"(?![^>]*loading="lazy")', html)
    return list(dict.fromkeys([*head, *scripts, *photos]))


@pytest.mark.parametrize("language", ["en", "de", "es"])
@pytest.mark.parametrize("coding", ["gzip", "br"])
@pytest.mark.parametrize("address", VIEWS, indirect=True)
def test_a_first_view_is_light(gallery: str, address: str, coding: str, language: str) -> None:
    page = Fetched(gallery, address, coding, language)
    assert page.status == 200
    assert f'<html lang="{language}"' in page.text
    more = {path: Fetched(gallery, path, coding) for path in loaded_by(page.text)}
    sheets = sum(len(f.body) for path, f in more.items() if path.endswith(".css"))
    scripts = sum(len(f.body) for path, f in more.items() if path.endswith(".js"))
    weighed = len(page.body) + sheets
    assert weighed <= FIRST_WINDOW, f"{len(page.body)} + {sheets} = {weighed} B"
    assert scripts <= SCRIPT
    assert 1 + len(more) <= REQUESTS, list(more)
    assert len(page.body) + sum(len(f.body) for f in more.values()) <= ALL_IN_ALL


@pytest.mark.parametrize("address", ["/"], indirect=True)
def test_what_a_page_loads_is_hashed_and_kept_for_good(gallery: str, address: str) -> None:
    for path in loaded_by(Fetched(gallery, address, "br").text):
        kept = Fetched(gallery, path, "br").headers
        assert re.fullmatch(r"/static/[0-9a-f]{12}/[\w./-]+", path), path
        assert kept["Cache-Control"] == "public, max-age=31536000, immutable", path
        if not path.endswith(".woff2"):  # packed in itself
            assert kept["Content-Encoding"] == "br", path


@pytest.fixture
def shown(catalogue: dict[str, Any]) -> list[Any]:
    return [one for one in catalogue.values() if not isinstance(one, Unreached)]


def test_every_page_allows_only_what_is_ours_and_gives_no_address_away(shown) -> None:
    for one in shown:
        headers = dict(one.headers)
        assert headers["Content-Security-Policy"] == STRICT, one.name
        assert headers["Referrer-Policy"] == "no-referrer", one.name
        assert headers["X-Content-Type-Options"] == "nosniff", one.name


def test_pages_that_speak_of_somebody_are_neither_kept_nor_listed(shown) -> None:
    for one in shown:
        headers = dict(one.headers)
        if one.room != "open":
            assert headers["Cache-Control"] == "no-store", one.name
        if one.room not in ("open", "intake"):
            assert "noindex" in headers["X-Robots-Tag"], one.name


def test_an_order_is_listed_by_nobody_once_it_holds_a_name(catalogue) -> None:
    headers = {name: dict(one.headers) for name, one in catalogue.items()}
    assert "X-Robots-Tag" not in headers["parts, empty"]
    assert "noindex" in headers["read back"]["X-Robots-Tag"]
    # a quick run has each page in one state
    filled = headers.get("you, filled")
    assert filled is None or "noindex" in filled["X-Robots-Tag"]


@pytest.mark.parametrize("address", VIEWS, indirect=True)
def test_nothing_on_a_page_jumps(browser: Browser, gallery: str, address: str) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, base_url=gallery)
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.add_init_script(
        "window.jumped = 0; new PerformanceObserver(list => { for (const one of list.getEntries())"
        " window.jumped += one.value }).observe({type: 'layout-shift', buffered: true})"
    )
    page.goto(address, wait_until="load")
    page.evaluate("() => document.fonts.ready.then(() => new Promise(requestAnimationFrame))")
    page.mouse.wheel(0, 4000)
    page.wait_for_timeout(150)
    jumped = page.evaluate("() => window.jumped")
    context.close()
    photos = [url for url in asked if "/photo/" in url or url.endswith("favicon.svg")]
    assert jumped <= JUMP
    assert len(asked) - len(photos) <= REQUESTS, asked
