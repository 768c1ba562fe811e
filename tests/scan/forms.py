"""What can be sent to a running portal: its forms as an OpenAPI document for a fuzzer.

The pages are walked from some addresses on; each form becomes an operation whose fields take what
they offer, and any text. Tokens stay as the page gave them, or nothing would come past the guards.
"""

import re
from collections import deque
from typing import Any
from urllib.parse import urljoin, urlsplit

from tests.load.browser import Browser
from tests.page import Page

KEPT = re.compile(r"csrf_token|once|version|expected|seen")
# what ends the walk for everybody else: signing out, and the office's own sign-in
LEFT_OUT = re.compile(r"/sign-out|/lock|/end-others|/second-factor|/me$|/people")
MOST_PAGES = 60
TEXT = {"type": "string", "maxLength": 400}


def document(browser: Browser, starts: list[str]) -> dict[str, Any]:
    """Walk the pages that links lead to, and return all forms as operations."""
    paths: dict[str, dict[str, Any]] = {}
    waiting, seen = deque(starts), set(starts)
    while waiting and len(seen) < MOST_PAGES + len(starts):
        path = waiting.popleft()
        answer = browser.get(path)
        if answer.status_code != 200 or "html" not in answer.headers.get("Content-Type", ""):
            continue
        page = Page(answer.get_data())
        for form in page.all("form"):
            _add(paths, path, form)
        for link in page.all("a"):
            target = urlsplit(urljoin(path, link.get("href", "")))
            if not target.netloc and target.path not in seen and not LEFT_OUT.search(target.path):
                seen.add(target.path)
                waiting.append(target.path)
    return {
        "openapi": "3.0.3",
        "info": {"title": "forms", "version": "1"},
        "paths": paths,
    }


def _add(paths: dict[str, dict[str, Any]], path: str, form: Any) -> None:
    action = urlsplit(urljoin(path, form.get("action", "") or path)).path
    method = form.get("method", "get").lower()
    if LEFT_OUT.search(action) or method in paths.get(action, {}):
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
