"""`python -m tests.scan`: two scanners, a fuzzer and a judge of headers against the running demo.

The demo stands behind the example of nginx, with TLS, as a stranger sees it and as the office does.
Each tool first has to find the fault that was planted for it. What was found goes to
build/scan.json, with how far the time was enough; the answer is the number of faults.
"""

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from urllib.error import URLError
from urllib.parse import urlsplit
from urllib.request import urlopen

from portal.cli.demo import PASSWORD
from tests.cli.free_port import free_port
from tests.conftest import HOUSE
from tests.load.browser import Browser, Visitor
from tests.load.machines import machine
from tests.load.nginx import nginx
from tests.scan import tools
from tests.scan.forms import document
from tests.scan.headers import score

# seconds that each scanner has: on the planted faults, and on the demo for each of two visitors;
# the fuzzer has three times as many, and ends when it has been through all forms. So the whole
# takes some twenty minutes; SCAN_SECONDS=900 looks longer and further
QUICKLY, WHOLE = 90, int(os.environ.get("SCAN_SECONDS", "120"))
EXAMPLES = 12  # of each form, by the fuzzer
ROBIN = ("+447700900123", "robin@example.com")
# what a scanner tells and is none, with the reason
NO_FAULTS = (
    # a method that is refused is named by its answer (405), as it should be
    "Allowed methods",
)


def main() -> int:
    if lacking := tools.missing():
        print("make scan installs these:", *lacking)
        return 2
    found: dict[str, Any] = {}
    wrong: list[str] = []
    with ExitStack() as stack:
        folder = Path(stack.enter_context(TemporaryDirectory(prefix="portal-scan-")))
        folder.chmod(0o755)
        wrong += _planted_are_found(stack.enter_context(_planted()), found)
        settings = {"PORTAL_URL": "https://localhost", "PORTAL_PROXIES": "1"}
        demo = machine(folder / "data", "", verb="demo", **settings)
        running = stack.enter_context(demo)
        secure, trusting = stack.enter_context(nginx(folder, running.port))
        with urlopen(f"https://localhost:{secure}/", context=trusting) as answer:
            told = score(answer.headers, answer.headers.get_all("Set-Cookie", []))
        found["headers"] = {"points": told.points} | told.tests
        wrong += [f"headers: {name}" for name, points in told.tests.items() if points < 0]
        # the stranger last: after so many guesses nobody signs in from this address for a while
        for who in ("office", "stranger"):
            found[who], reached = _scan(running.port, f"https://localhost:{secure}/", who)
            wrong += [f"{who}: {one}" for those in found[who].values() for one in those]
            found[f"{who}: fuzzed"] = reached
    (HOUSE / "build" / "scan.json").write_text(json.dumps(found, indent=2) + "\n", "utf-8")
    print(json.dumps(found, indent=2))
    print("\n".join(wrong) or "nothing was found on the portal; every planted fault was")
    return min(len(wrong), 99)


def _planted_are_found(url: str, found: dict[str, Any]) -> list[str]:
    port = int(url.rstrip("/").rpartition(":")[2])
    forms = document(Browser([port]), ["/"])
    told = {
        "wapiti": tools.wapiti(url, "planted", ["/"], "", QUICKLY),
        "sqlmap": tools.sqlmap(url, "planted", ["/"], "", QUICKLY),
        "fuzzer": tools.fuzz(url, "planted", forms, "", 40, QUICKLY)[0],
    }
    found["planted"] = told
    wanted = {"wapiti": "/hello", "sqlmap": "number", "fuzzer": ""}
    return [
        f"{tool} did not find its planted fault"
        for tool, lines in told.items()
        if not any(wanted[tool] in line and "itself failed" not in line for line in lines)
    ]


def _scan(port: int, url: str, who: str) -> tuple[dict[str, list[str]], str]:
    """Run every tool on the demo as somebody sees it; return also how far the fuzzer came."""
    browser, starts = _visitor(port) if who == "stranger" else _office(port)
    cookie = "; ".join(f"{name}={value}" for name, value in browser.cookies.items())
    forms = document(browser, starts)
    assert len(forms["paths"]) > 5, "the forms of the portal were not found"
    _say(f"{who}: {len(forms['paths'])} forms")
    fuzzed, reached = tools.fuzz(url, who, forms, cookie, EXAMPLES, 3 * WHOLE)
    _say(f"{who}: fuzzed {reached}")
    faults = {
        "wapiti": tools.wapiti(url, who, starts, cookie, WHOLE),
        "sqlmap": tools.sqlmap(f"http://127.0.0.1:{port}/", who, starts, cookie, WHOLE),
        "fuzzer": fuzzed,
    }
    _say(f"{who}: scanned")
    if who == "office" and browser.get(starts[0]).status_code != 200:
        faults["office"] = ["the scanner itself failed: it signed the office out"]
    told = {
        tool: [one for one in lines if not one.startswith(NO_FAULTS)]
        for tool, lines in faults.items()
    }
    return told, reached


def _say(line: str) -> None:
    print(time.strftime("%H:%M:%S"), line, flush=True)


def _visitor(port: int) -> tuple[Browser, list[str]]:
    """A stranger with a draft at its last page, and the link of a job that was booked."""
    browser = Browser([port])
    link = Visitor(browser).walk_to_the_end(*ROBIN).book().headers["Location"]
    walker = Visitor(browser).walk_to_the_end(*ROBIN, time=1)
    steps = [walker.url(step) for step in ("parts", "finish", "day", "you", "read-back")]
    return browser, ["/", "/ask", urlsplit(link).path, *steps]


def _office(port: int) -> tuple[Browser, list[str]]:
    browser = Browser([port])
    page = browser.get("/counter/sign-in")
    entered = browser.submit(page, login="office", password=PASSWORD)
    assert entered.status_code == 303, entered.status_code
    return browser, [
        "/counter/today",
        "/counter/floor",
        "/counter/find",
        "/office/",
        "/office/letters",
    ]


@contextmanager
def _planted() -> Iterator[str]:
    port = free_port()
    running = subprocess.Popen(
        [sys.executable, "-m", "tests.scan.planted", str(port)],
        cwd=HOUSE,
        stderr=subprocess.DEVNULL,
    )
    url = f"http://127.0.0.1:{port}/"
    try:
        for _ in range(200):
            with suppress(URLError, OSError), urlopen(url):
                break
            time.sleep(0.1)
        yield url
    finally:
        running.terminate()
        running.wait(30)


if __name__ == "__main__":
    sys.exit(main())
