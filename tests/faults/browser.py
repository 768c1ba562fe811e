"""A browser without scripts that speaks HTTP to a running portal and knows when no answer came."""

import http.client
import json
from dataclasses import dataclass, field
from functools import cached_property
from http.cookies import SimpleCookie
from typing import Any
from urllib.parse import urlencode, urlsplit

from tests.customers.forms import Form, forms_of
from tests.customers.person import standing
from tests.page import Page

PATIENCE_S = 30
MOVED = (301, 302, 303, 307, 308)


class Gone(Exception):
    """No answer came: whether the press counted is not known."""


@dataclass(frozen=True)
class Answer:
    """What came back; `path` is where it was asked."""

    status: int
    path: str
    text: str
    location: str = ""

    @cached_property
    def page(self) -> Page:
        return Page(self.text)

    @property
    def forms(self) -> list[Form]:
        return forms_of(self.page)

    def form(self, ending: str) -> Form | None:
        """Return the first form that goes to an address of this ending."""
        found = (f for f in self.forms if f.action.partition("?")[0].endswith(ending))
        return next(found, None)


@dataclass
class Browser:
    """One person's browser: cookies, and an address of its own behind the proxy."""

    url: str
    address: str = "192.0.2.1"
    cookies: dict[str, str] = field(default_factory=dict)

    def get(self, path: str) -> Answer:
        """Open a page, and go where it leads."""
        answer = self.ask("GET", path)
        for _ in range(6):
            if answer.status not in MOVED:
                break
            answer = self.ask("GET", answer.location)
        return answer

    def post(self, path: str, sent: dict[str, Any]) -> Answer:
        """Send a form; where the answer leads is told, not followed."""
        body = urlencode(sent, doseq=True).encode()
        return self.ask("POST", path, body, {"Content-Type": "application/x-www-form-urlencoded"})

    def send(
        self, form: Form, answers: dict[str, Any] | None = None, *, path: str = "", **pressed: str
    ) -> Answer:
        """Send a form of a page as it stands, with some answers and the button that was pressed."""
        return self.post(form.action or path, {**standing(form), **(answers or {}), **pressed})

    def post_json(self, path: str, body: object, csrf: str) -> Answer:
        kind = {"Content-Type": "application/json", "X-CSRFToken": csrf}
        return self.ask("POST", path, json.dumps(body).encode(), kind)

    def ask(
        self, method: str, path: str, body: bytes | None = None, more: dict[str, str] | None = None
    ) -> Answer:
        """Ask once; raise Gone where the connection failed before the answer was whole."""
        where = urlsplit(path)
        target = where.path + (f"?{where.query}" if where.query else "")
        head = {"X-Forwarded-For": self.address, "Connection": "close", **(more or {})}
        if self.cookies:
            head["Cookie"] = "; ".join(f"{k}={v}" for k, v in self.cookies.items())
        link = http.client.HTTPConnection(urlsplit(self.url).netloc, timeout=PATIENCE_S)
        try:
            link.request(method, target, body, head)
            got = link.getresponse()
            text = got.read().decode(errors="replace")
        except (OSError, http.client.HTTPException) as problem:
            raise Gone(type(problem).__name__) from None
        finally:
            link.close()
        self._keep(got)
        return Answer(got.status, where.path, text, got.headers.get("Location") or "")

    def _keep(self, got: http.client.HTTPResponse) -> None:
        for line in got.headers.get_all("Set-Cookie") or ():
            for name, one in SimpleCookie(line).items():
                self.cookies[name] = one.value
