"""German words are longer: no customer's page grows too wide or loses text for them."""

import shutil
import threading
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page
from werkzeug.serving import make_server

from portal.web.kit.i18n import languages
from tests.browser.layout import pages
from tests.browser.layout.house import furnished
from tests.browser.layout.judge import Judge
from tests.browser.turns import PATIENCE_MS
from tests.conftest import Clock, an_app
from tests.quick import few, is_quick

pytestmark = pytest.mark.browser
WIDTHS = (320, 390, 768)
NAMES = [name for name in pages.names() if pages.STATES[name].room in ("open", "intake", "link")]


@pytest.fixture(scope="module")
def told(
    sqlite_model: Path, tmp_path_factory: pytest.TempPathFactory, pytestconfig: pytest.Config
) -> Iterator[tuple[dict[str, Any], str]]:
    """Every customer's page in German, and the address of the server where they hang."""
    from portal.settings import Settings

    folder = tmp_path_factory.mktemp("german")
    shutil.copy(sqlite_model, folder / "portal.sqlite3")
    settings = Settings(
        database_url=f"sqlite:///{folder / 'portal.sqlite3'}",
        base_url="http://127.0.0.1:8000",
        secret_key="only for tests",
        data_dir=folder,
    )
    clock = Clock()
    with pytest.MonkeyPatch.context() as patch, ExitStack() as until:
        # the app takes hold of this as it is made
        patch.setattr(languages, "chosen", lambda: "de")
        app = until.enter_context(an_app(settings, clock))
        house = furnished(app, clock)
        taken = few(pages.names()) if is_quick(pytestconfig) else NAMES
        found = {name: pages.reach(pages.STATES[name], house) for name in NAMES if name in taken}

        def show(environ: dict[str, Any], start: Any) -> Any:
            number = environ["PATH_INFO"].removeprefix("/hall/")
            if not number.isdecimal():
                return app(environ, start)
            shown = found[NAMES[int(number)]]
            start("200 AS SENT", [h for h in shown.headers if h[0] == "Content-Type"])
            return [shown.html.encode()]

        server = make_server("127.0.0.1", 0, show, threaded=True)
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield found, f"http://127.0.0.1:{server.server_port}"
        server.shutdown()
        thread.join(5)


@pytest.fixture(scope="module")
def pane(measuring: Browser, told: tuple[dict[str, Any], str]) -> Iterator[Page]:
    context = measuring.new_context(base_url=told[1], viewport={"width": 390, "height": 844})
    context.set_default_timeout(PATIENCE_MS)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_too_wide_or_cut_in_german(told: Any, pane: Page, name: str) -> None:
    shown = told[0][name]
    assert not isinstance(shown, pages.Unreached), shown.why
    assert '<html lang="de">' in shown.html
    judge = Judge(pane, shown, f"/hall/{NAMES.index(name)}")
    judge.open()
    faults = []
    for width in WIDTHS:
        judge.width(width)
        found = judge.measure("sideways") + judge.measure("cut")
        faults += [f"{width}: {fault}" for fault in found]
    judge.width(390)
    faults += judge.measure("small", 44)
    assert not faults, "\n".join(faults)
