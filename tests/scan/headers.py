"""A score of the headers of a page, worked out without a network by a published method.

MDN HTTP Observatory (github.com/mdn/mdn-http-observatory, src/grader/charts.js): a base of 100 and
a modifier for each test; more than 100 only where what is taken off leaves 90. What costs or brings
nothing there is left out. Integrity of scripts counts nothing, because all are ours.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

# the most that these tests can give
BEST = 135
BASE, LEAST_FOR_MORE, SIX_MONTHS = 100, 90, 15_768_000
PRIVATE = {"no-referrer", "same-origin", "strict-origin", "strict-origin-when-cross-origin"}


@dataclass(frozen=True)
class Score:
    """The score, and what each test added or took off."""

    points: int
    tests: dict[str, int]


def score(heads: Mapping[str, str], cookies: Sequence[str]) -> Score:
    """Return the score of a page's headers; `cookies` has each Set-Cookie header."""
    tests = dict(_tests(heads, cookies))
    lost = BASE + sum(one for one in tests.values() if one < 0)
    more = sum(one for one in tests.values() if one > 0)
    return Score(lost + more if lost >= LEAST_FOR_MORE else max(lost, 0), tests)


def _tests(heads: Mapping[str, str], cookies: Sequence[str]) -> Iterator[tuple[str, int]]:
    policy = _directives(heads.get("Content-Security-Policy", ""))
    yield "content security policy", _policy(policy)
    yield "cookies", min(map(_cookie, cookies), default=0)
    yield "cross-origin resource policy", _resources(heads.get("Cross-Origin-Resource-Policy", ""))
    yield "referrer policy", _referrer(heads.get("Referrer-Policy", ""))
    age = re.search(r"max-age=(\d+)", heads.get("Strict-Transport-Security", ""))
    yield "strict transport security", (-10 if int(age[1]) < SIX_MONTHS else 0) if age else -20
    sniff = heads.get("X-Content-Type-Options", "").strip().lower()
    yield "content type options", 0 if sniff == "nosniff" else -5
    yield "frames", _frames(policy, heads.get("X-Frame-Options", ""))
    shared = heads.get("Access-Control-Allow-Origin", "")
    credentials = heads.get("Access-Control-Allow-Credentials", "") == "true"
    yield "sharing with other origins", -50 if shared and credentials else 0


def _directives(text: str) -> dict[str, set[str]]:
    rows = [part.split() for part in text.split(";") if part.strip()]
    return {row[0].lower(): set(row[1:]) for row in rows}


def _policy(policy: Mapping[str, set[str]]) -> int:
    if not policy:
        return -25
    default = policy.get("default-src", {"*"})
    scripts, objects = (policy.get(name, default) for name in ("script-src", "object-src"))
    if {"'unsafe-inline'", "data:", "https:", "http:", "*"} & (scripts | objects):
        return -20
    if "'unsafe-eval'" in scripts:
        return -10
    if {"'unsafe-inline'", "data:", "https:", "*"} & policy.get("style-src", default):
        return 0
    narrow = policy.get("form-action", set()) in ({"'self'"}, {"'none'"})
    return 10 if default == {"'none'"} and narrow else 5


def _cookie(header: str) -> int:
    marks = {part.strip().lower() for part in header.split(";")[1:]}
    if "secure" not in marks:
        return -40
    if "httponly" not in marks:
        return -30
    return 5 if marks & {"samesite=lax", "samesite=strict"} else -20


def _resources(policy: str) -> int:
    return {"same-origin": 10, "same-site": 10, "cross-origin": 0, "": 0}.get(policy.lower(), -5)


def _referrer(policy: str) -> int:
    if not policy:
        return 0
    return 5 if policy.lower() in PRIVATE else -5


def _frames(policy: Mapping[str, set[str]], older: str) -> int:
    if policy.get("frame-ancestors", set()) in ({"'none'"}, {"'self'"}):
        return 5
    return 0 if older.upper() in {"DENY", "SAMEORIGIN"} else -20
