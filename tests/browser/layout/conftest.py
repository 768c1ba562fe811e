"""The catalogue, taken once a run and hung in a gallery: a real server that shows each page again.

Every page is shown as the app sent it, with its own headers, beside the app's own static files.
"""

import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Playwright
from werkzeug.serving import make_server

from tests.browser.conftest import launched
from tests.browser.layout import pages
from tests.browser.layout.house import House, furnished
from tests.browser.layout.judge import AXE, Judge
from tests.browser.turns import PATIENCE_MS
from tests.conftest import COMPILED, Clock, chance
from tests.quick import few, is_quick

HALL = "/hall/"


@pytest.fixture(scope="session")
def house(sqlite_model: Path, tmp_path_factory: pytest.TempPathFactory) -> House:
    from portal.settings import Settings
    from portal.web.app import create_app

    folder = tmp_path_factory.mktemp("layout")
    shutil.copy(sqlite_model, folder / "portal.sqlite3")
    settings = Settings(
        database_url=f"sqlite:///{folder / 'portal.sqlite3'}",
        base_url="http://127.0.0.1:8000",
        secret_key="only for tests",
        data_dir=folder,
    )
    clock = Clock()
    app = create_app(settings, now=clock.now, random_bytes=chance())
    app.jinja_env.bytecode_cache = COMPILED
    return furnished(app, clock)


@pytest.fixture(scope="session")
def catalogue(
    house: House, pytestconfig: pytest.Config
) -> dict[str, pages.Shown | pages.Unreached]:
    """Every page in every state, taken in order; one that can't be reached fails its own tests.

    A quick run takes each page in one state.
    """
    states = few(pages.names()) if is_quick(pytestconfig) else pages.names()
    return {name: pages.reach(pages.STATES[name], house) for name in states}


@pytest.fixture(scope="session")
def gallery(house: House, catalogue: dict[str, pages.Shown | pages.Unreached]) -> Iterator[str]:
    """The address of the server; page number n hangs at /hall/n."""
    hung = {f"{HALL}{n}": shown for n, shown in enumerate(catalogue.values())}

    def show(environ: dict[str, Any], start: Callable[..., Any]) -> Any:
        shown = hung.get(environ["PATH_INFO"])
        if shown is None or isinstance(shown, pages.Unreached):
            return house.app(environ, start)
        start(f"{shown.status} AS SENT", list(shown.headers))
        return [shown.html.encode()]

    server = make_server("127.0.0.1", 0, show, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join(5)


@pytest.fixture(scope="session")
def measuring(playwright: Playwright) -> Iterator[Browser]:
    """A browser that lays pages out and never paints them: a third of the time is saved."""
    with launched(playwright, "--disable-threaded-compositing") as running:
        yield running


@pytest.fixture(scope="session")
def window(measuring: Browser, gallery: str) -> Iterator[Page]:
    """One browser window for all pages; the policy of the pages is in force."""
    context = measuring.new_context(base_url=gallery, viewport={"width": 390, "height": 844})
    context.set_default_timeout(PATIENCE_MS)
    # given by the debugger, so the pages' own policy stays in force; once, not page by page
    context.add_init_script(path=AXE)
    yield context.new_page()
    context.close()


@pytest.fixture(scope="module", params=pages.names())
def judge(request: pytest.FixtureRequest, window: Page, catalogue: Any) -> Judge:
    """One page of the catalogue, open in the window; the tests of a page follow each other."""
    shown = catalogue[request.param]
    assert not isinstance(shown, pages.Unreached), shown.why
    opened = Judge(window, shown, f"{HALL}{list(catalogue).index(request.param)}")
    opened.open()
    return opened
