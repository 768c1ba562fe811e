"""What can be sent to a running portal: its forms as an OpenAPI document for a fuzzer.

The pages are walked from some addresses on; each form becomes an operation whose fields take what
they offer, and any text. Tokens stay as the page gave them, or nothing would come past the guards.
"""

import re
from collections import Counter, deque
from typing import Any
from urllib.parse import urljoin, urlsplit

from tests.load.browser import Browser
from tests.page import Page

KEPT = re.compile(r"csrf_token|once|version|expected|seen")
# what ends the walk for everybody else: signing out, and the office's own sign-in
LEFT_OUT = re.compile(r"/sign-out|/lock|/end-others|/second-factor|/me$|/people")
MOST_PAGES = 150
# pages and forms that differ in a code or a number alone: so many of a kind
ALIKE = 2
CODE = re.compile(r"(?<=/)(?:[0-9A-Z]{8,26}|\d+)(?=/|$)")
TEXT = {"type": "string", "maxLength": 400}


def document(browser: Browser, starts: list[str]) -> dict[str, Any]:
    """Walk the pages that links lead to, and return all forms as operations."""
    paths: dict[str, dict[str, Any]] = {}
    waiting, seen, visited = deque(starts), set(starts), 0
    kinds = Counter(map(_kind, starts))
    while waiting and visited < MOST_PAGES:
        path = waiting.popleft()
        visited += 1
        answer = browser.get(path)
        if answer.status_code != 200 or "html" not in answer.headers.get("Content-Type", ""):
            continue
        page = Page(answer.get_data())
        for form in page.all("form"):
            _add(paths, path, form)
        for link in page.all("a"):
            target = urlsplit(urljoin(path, link.get("href", "")))
            if target.netloc or target.path in seen or LEFT_OUT.search(target.path):
                continue
            seen.add(target.path)
            kinds[_kind(target.path)] += 1
            if kinds[_kind(target.path)] <= ALIKE:
                waiting.append(target.path)
    return {
        "openapi": "3.0.3",
        "info": {"title": "forms", "version": "1"},
        "paths": paths,
    }


def _kind(path: str) -> str:
    return CODE.sub("*", path)


def _add(paths: dict[str, dict[str, Any]], path: str, form: Any) -> None:
    action = urlsplit(urljoin(path, form.get("action", "") or path)).path
    method = form.get("method", "get").lower()
    alike = [one for one in paths if _kind(one) == _kind(action) and method in paths[one]]
    if LEFT_OUT.search(action) or action in alike or len(alike) >= ALIKE:
        return
    fields = _fields(form)
    operation: dict[str, Any] = {"responses": {"200": {"description": "any"}}}
    if method == "post":
        shape = {"type": "object", "properties": fields, "required": list(fields)}
        content = {"application/x-www-form-urlencoded": {"schema": shape}}
        operation["requestBody"] = {"required": True, "content": content}
    else:
        operation["parameters"] = [
            {"name": name, "in": "query", "schema": kind} for name, kind in fields.items()
        ]
    paths.setdefault(action, {})[method] = operation


def _fields(form: Any) -> dict[str, Any]:
    """Return the fields of a form: fixed where they are keys, else what is offered or any text."""
    offered: dict[str, set[str]] = {}
    for element in form.iter():
        name = element.get("name")
        if element.tag in ("input", "select", "textarea", "button") and name:
            values = [one.get("value", "") for one in element.iter("option")]
            offered.setdefault(name, set()).update(values or [element.get("value", "")])
    return {
        name: {"type": "string", "enum": sorted(values)}
        if KEPT.search(name)
        else {"anyOf": [{"type": "string", "enum": sorted(values)}, TEXT]}
        for name, values in offered.items()
    }
