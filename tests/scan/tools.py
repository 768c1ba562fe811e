"""The tools from the registries, each run alike on a portal and on planted faults.

A tool returns what it found, in lines; each is installed by `make scan` into `build/scan`.
"""

import json
import os
import re
import subprocess
import time
from pathlib import Path
from typing import Any
from zlib import crc32

from tests.conftest import HOUSE
from tests.postgres import room

BIN = HOUSE / "build" / "scan" / "bin"
OUT = HOUSE / "build" / "scan" / "found"
# it says so as soon as it knows; its summary comes last, or never where its time is over
INJECTABLE = re.compile(r"parameter '[^']+' (appears to be|is) '.*' injectable|Parameter: ")
TRIES = 3  # of a scanner that fails by itself
AT_A_TIME = 5  # forms that the fuzzer gets at once
LONGEST_S = 1800  # a tool that keeps to no limit of its own is ended
MODULES = (
    "xss,permanentxss,sql,redirect,csrf,crlf,exec,file,upload,http_headers,csp,cookieflags,methods"
)


def wapiti(url: str, name: str, starts: list[str], cookie: str, seconds: int) -> list[str]:
    """Crawl and attack pages from outside; return each fault by kind and address."""
    out = OUT / f"wapiti-{name}.json"
    call = [BIN / "wapiti", "-u", url, "-m", MODULES, "--flush-session", "-f", "json", "-o", out]
    call += [
        "--scope",
        "domain",
        "-d",
        "4",
        # to look around, and then for each kind of attack; the light ones end by themselves
        "--max-scan-time",
        seconds // 3,
        "--max-attack-time",
        seconds // 8,
    ]
    call += ["--max-files-per-dir", "12", "--max-links-per-page", "60", "--no-bugreport"]
    call += [
        "--store-session",
        # in memory: on a disk its own database is locked for too long on a busy machine
        Path(room()) / "portal-scan-wapiti",
        "--store-config",
        OUT / "wapiti",
        "--tasks",
        "2",
        "-v",
        "0",
    ]
    for start in starts:
        call += ["-s", url.rstrip("/") + start]
    # what would end the sign-in of who is scanned for
    for ends in ("counter/sign-out", "counter/lock", "counter/me*", "office/people*"):
        call += ["-x", url.rstrip("/") + "/" + ends]
    if cookie:
        call += ["-H", f"Cookie: {cookie}"]
    out.unlink(missing_ok=True)
    for _ in range(TRIES):
        said = _run(call)
        if out.exists():
            break
    else:
        return [f"the scanner itself failed: {said[-600:]}"]
    report = json.loads(out.read_text("utf-8"))
    faults = report["vulnerabilities"] | report["anomalies"]
    return [
        f"{kind}: {one['method']} {one['path']} {one.get('parameter') or ''} {one['info'][:160]}"
        for kind, those in faults.items()
        for one in those
    ]


def sqlmap(url: str, name: str, starts: list[str], cookie: str, seconds: int) -> list[str]:
    """Try forms and addresses for SQL injection; return those that have one.

    The time is divided among the starts, and ends a try wherever it is.
    """
    found = []
    for number, start in enumerate(starts):
        folder = OUT / f"sqlmap-{name}-{number}"
        call = [BIN / "sqlmap", "-u", url.rstrip("/") + start, "--forms", "--crawl=1", "--batch"]
        call += [
            "--smart",
            "--level=2",
            # not by how long an answer takes: on a busy machine that tells nothing
            "--technique=BEUSQ",
            f"--time-limit={seconds // len(starts)}",
            "--flush-session",
            "--threads=2",
            "--timeout=20",
        ]
        call += ["--crawl-exclude=sign-out|static|lock|/me|/people", "--disable-coloring"]
        call += ["--output-dir", folder, "--results-file", OUT / f"sqlmap-{name}-{number}.csv"]
        if cookie:
            call += [f"--cookie={cookie}"]
        said = _run(call)
        (OUT / f"sqlmap-{name}-{number}.txt").write_text(said, "utf-8")
        found += [one for one in said.splitlines() if INJECTABLE.search(one)]
        if "[*] ending @" not in said:
            found.append(f"the scanner itself failed: {said[-300:]}")
    return found


def fuzz(
    url: str, name: str, document: dict[str, Any], cookie: str, examples: int, seconds: int
) -> tuple[list[str], str]:
    """Send each form what nobody would.

    Return what was answered by an accident (5xx), and how many of the forms the time was enough
    for. They are taken a few at a time, from all parts of the portal by turns.
    """
    paths = sorted(document["paths"], key=lambda path: crc32(path.encode()))
    ends, found, done = time.monotonic() + seconds, list[str](), 0
    for at in range(0, len(paths), AT_A_TIME):
        if time.monotonic() > ends:
            break
        some = {path: document["paths"][path] for path in paths[at : at + AT_A_TIME]}
        found += _fuzz_some(url, f"{name}-{at}", document | {"paths": some}, cookie, examples)
        done += len(some)
    return found, f"{done} of {len(paths)} forms"


def _fuzz_some(
    url: str, name: str, document: dict[str, Any], cookie: str, examples: int
) -> list[str]:
    schema = OUT / f"forms-{name}.json"
    OUT.mkdir(parents=True, exist_ok=True)
    schema.write_text(json.dumps(document), "utf-8")
    call = [BIN / "st", "run", schema, "--base-url", url, "-c", "not_a_server_error", "-w", "2"]
    call += ["--hypothesis-max-examples", examples, "--hypothesis-seed", "1", "--no-color"]
    call += ["--hypothesis-suppress-health-check", "all", "--request-tls-verify", "false"]
    call += ["-H", f"Referer: {url}"]  # with TLS a form comes from our own page, or is refused
    if cookie:
        call += ["-H", f"Cookie: {cookie}"]
    said = _run(call)
    (OUT / f"fuzz-{name}.txt").write_text(said, "utf-8")
    if "Performed checks" not in said or "= ERRORS =" in said:
        return [f"the fuzzer itself failed: {said[-300:]}"]
    return [one.strip() for one in said.splitlines() if one.strip().startswith("curl ")]


def _run(call: list[Any]) -> str:
    OUT.mkdir(parents=True, exist_ok=True)
    env = os.environ | {"HOME": str(OUT), "PYTHONWARNINGS": "ignore"}
    words = [str(one) for one in call]
    try:
        done = subprocess.run(
            words, cwd=OUT, env=env, capture_output=True, text=True, check=False, timeout=LONGEST_S
        )
    except subprocess.TimeoutExpired:
        return f"{words[0]} did not end within {LONGEST_S} s"
    return done.stdout + done.stderr


def missing() -> list[Path]:
    return [BIN / one for one in ("wapiti", "sqlmap", "st") if not (BIN / one).exists()]
