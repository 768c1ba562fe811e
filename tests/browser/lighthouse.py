"""`make lighthouse`: the demo portal as a phone on a slow line sees it; 100 in every category.

Open pages and the intake are judged in all four categories; pages that name somebody (behind a
link, and the order once it holds a name) in three, for they are `noindex` and the fourth asks to
be listed. Figures: build/lighthouse.json.
"""

import json
import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from portal.store.engine import make_engine
from tests.browser.conftest import chromium_arguments, chromium_path
from tests.browser.turns import press

HOUSE = Path(__file__).resolve().parents[2]
TOOL = HOUSE / "tests" / "lighthouse" / "node_modules" / "lighthouse" / "cli" / "index.js"
OUT = HOUSE / "build" / "lighthouse.json"
THREE = ("performance", "accessibility", "best-practices")
FOUR = (*THREE, "seo")
MEASURES = (
    "first-contentful-paint",
    "largest-contentful-paint",
    "speed-index",
    "total-blocking-time",
    "cumulative-layout-shift",
)
STEPS = ("parts", "on-them", "comes-off", "finish", "day", "you")


def free_port() -> int:
    with socket.socket() as place:
        place.bind(("127.0.0.1", 0))
        return int(place.getsockname()[1])


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Make the demo's week in `folder` and serve it as `serve` does; give its address."""
    port = free_port()
    own = {"PORTAL_DATA": str(folder), "PORT": str(port)}
    log = (folder / "serve.log").open("w")
    running = subprocess.Popen(
        [sys.executable, "-m", "portal", "demo"],
        cwd=HOUSE,
        env=os.environ | own,
        stdout=log,
        stderr=subprocess.STDOUT,
    )
    try:
        yield _awake(running, f"http://127.0.0.1:{port}", folder / "serve.log")
    finally:
        running.terminate()
        running.wait(20)
        log.close()


def _awake(running: "subprocess.Popen[bytes]", url: str, log: Path) -> str:
    for _ in range(240):
        if running.poll() is not None:
            raise SystemExit(log.read_text(encoding="utf-8"))
        try:
            with urllib.request.urlopen(f"{url}/healthz", timeout=2):
                return url
        except OSError:
            time.sleep(0.5)
    raise SystemExit("the demo did not start:\n" + log.read_text(encoding="utf-8"))


def addresses(folder: Path, url: str) -> dict[str, tuple[str, tuple[str, ...]]]:
    """Every page to judge, with its categories."""
    made = next(folder.rglob("portal.sqlite3"))
    with make_engine(f"sqlite:///{made}").connect() as database:
        jobs = database.execute(sa.text("SELECT state, min(token) FROM job GROUP BY state")).all()
    found: dict[str, tuple[str, tuple[str, ...]]] = {
        "landing": (f"{url}/", FOUR),
        "why powder": (f"{url}/why-powder", FOUR),
    }
    token = order(url, "you")
    for step in STEPS:
        found[step] = (f"{url}/o/{token}/{step}", FOUR)
    found["read-back"] = (f"{url}/o/{order(url, 'read-back')}/read-back", THREE)
    for state, link in jobs:
        found[f"status, {state}"] = (f"{url}/J/{link}", THREE)
    return found


def order(url: str, step: str) -> str:
    """Walk an order through the running portal, as far as `step`; return its token."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium_path(), args=chromium_arguments()
        )
        page = browser.new_page(base_url=url)
        page.goto("/")
        press(page.get_by_role("button", name="Describe your parts"))
        page.locator("#size").fill("8Jx18 ET35")
        page.locator("#build-0").check()
        while not page.url.endswith(f"/{step}"):
            for name in ("A-colour", "A-gloss"):
                choice = page.locator(f"[name={name}]")
                if choice.count() and not page.locator(f"[name={name}]:checked").count():
                    choice.first.check()
                    page.wait_for_load_state("networkidle")
            for name, typed in PERSON.items():
                if page.locator(f"#{name}").count():
                    page.locator(f"#{name}").fill(typed)
            press(page.locator(".bar button[type=submit]"))
            wrong = page.locator(".wrongs")
            assert not wrong.count(), wrong.inner_text()
        token = page.url.split("/")[-2]
        browser.close()
    return token


PERSON = {"name": "Robin Sample", "email": "robin@example.com", "phone": "07700 900123"}


def judged(address: str, categories: tuple[str, ...]) -> dict[str, Any]:
    """Run the tool once over a page; return scores, measures, and the audits short of full."""
    flags = " ".join(["--headless=new", *chromium_arguments()])
    ran = subprocess.run(
        [
            "node",
            str(TOOL),
            address,
            "--output=json",
            "--quiet",
            f"--only-categories={','.join(categories)}",
            f"--chrome-flags={flags}",
        ],
        env=os.environ | {"CHROME_PATH": chromium_path()},
        capture_output=True,
        text=True,
        check=False,
        timeout=180,
    )
    if ran.returncode:
        raise SystemExit(ran.stderr[-2000:])
    report = json.loads(ran.stdout)
    weighted = {
        ref["id"]
        for category in report["categories"].values()
        for ref in category["auditRefs"]
        if ref["weight"]
    }
    return {
        "address": address,
        "scores": {k: round(v["score"] * 100) for k, v in report["categories"].items()},
        "measures": {name: report["audits"][name]["numericValue"] for name in MEASURES},
        "short": [
            f"{a['id']}: {a['title']} {a.get('displayValue', '')}".strip()
            for a in report["audits"].values()
            if a["id"] in weighted and a["score"] is not None and a["score"] < 0.9
        ],
    }


def best_of(address: str, categories: tuple[str, ...], tries: int = 3) -> dict[str, Any]:
    """Judge a page again where it fell short: a busy machine must not pass for a slow page."""
    runs: list[dict[str, Any]] = []
    while len(runs) < tries:
        runs.append(judged(address, categories))
        if set(runs[-1]["scores"].values()) == {100}:
            break
    best = max(runs, key=lambda run: sum(run["scores"].values()))
    return best | {"runs": len(runs)}


def main() -> int:
    """Judge every page, print the table, write the figures; 1 where a page falls short."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        with served(folder) as url:
            found = {n: best_of(*told) for n, told in addresses(folder, url).items()}
    OUT.parent.mkdir(exist_ok=True)
    OUT.write_text(json.dumps(found, indent=1), encoding="utf-8")
    print(f"{'page':<22}" + "".join(f"{name:>16}" for name in FOUR) + f"{'LCP, ms':>10}{'runs':>6}")
    for name, told in found.items():
        scores = "".join(f"{told['scores'].get(c, '–'):>16}" for c in FOUR)
        lcp = told["measures"]["largest-contentful-paint"]
        print(f"{name:<22}{scores}{lcp:>10.0f}{told['runs']:>6}")
        for audit in told["short"]:
            print(f"    {audit}")
    print(f"figures: {OUT.relative_to(HOUSE)}")
    return int(any(set(told["scores"].values()) != {100} for told in found.values()))


if __name__ == "__main__":
    sys.exit(main())
