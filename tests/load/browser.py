"""A browser over real HTTP: cookies, forms, photos; enough for the customers of the tests."""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from http.client import HTTPConnection
from typing import Any
from urllib.parse import urlencode

from tests.page import CheckedClient
from tests.web.walk import Customer

PATIENCE_S = 60


@dataclass(frozen=True)
class Asked:
    """What was asked for."""

    path: str


@dataclass(frozen=True)
class Answer:
    """What came back, as far as the tests of pages read it."""

    status_code: int
    headers: Mapping[str, str]
    body: bytes
    request: Asked

    def get_data(self, *, as_text: bool = True) -> str:
        assert as_text
        return self.body.decode()


@dataclass
class Browser:
    """Asks one machine after another, as whoever stands behind a balancer does."""

    ports: list[int]
    cookies: dict[str, str] = field(default_factory=dict)
    asked: int = 0

    def get(self, path: str) -> Answer:
        return self.ask("GET", path)

    def post(self, path: str, data: Mapping[str, Any] | None = None) -> Answer:
        body, kind = _multipart(data or {})
        return self.ask("POST", path, body, {"Content-Type": kind})

    def submit(self, response: Answer, **how: Any) -> Any:
        """Fill the form of a page and send it, as the client of the other tests does."""
        return CheckedClient.submit(self, response, **how)  # type: ignore[arg-type]

    def at(self, port: int) -> "Browser":
        """The same browser, before one machine alone."""
        return Browser([port], self.cookies)

    def ask(
        self,
        verb: str,
        path: str,
        body: bytes | None = None,
        heads: Mapping[str, str] | None = None,
    ) -> Answer:
        port = self.ports[self.asked % len(self.ports)]
        self.asked += 1
        cookie = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        link = HTTPConnection("127.0.0.1", port, timeout=PATIENCE_S)
        try:
            link.request(verb, _path(path), body, {"Cookie": cookie, **(heads or {})})
            got = link.getresponse()
            content = got.read()
        finally:
            link.close()
        for one in got.headers.get_all("Set-Cookie", []):
            name, _, value = one.partition(";")[0].partition("=")
            self.cookies[name] = value
        return Answer(got.status, got.headers, content, Asked(_path(path).partition("?")[0]))


class Visitor(Customer):
    """A customer who walks by real HTTP, with a telephone of their own."""

    client: Any

    def _play(self, what: str, walk: Any) -> None:
        walk()

    def walk_to_the_end(self, phone: str, email: str, time: int = 0) -> "Visitor":
        """Answer every page but the last one; `time` is which of the free times is wanted."""
        self._walk_to("day", {})
        times = [one.get("value") for one in self.page.all("input", name="slot")]
        self.send(slot=times[time % len(times)])
        self.send(name="Robin Sample", email=email, phone=phone)
        assert self.step == "read-back", self.page.text
        return self


def _path(address: str) -> str:
    """Return the path of an address; all machines have one address in their links."""
    return "/" + address.split("/", 3)[3] if address.startswith("http") else address


def _multipart(data: Mapping[str, Any]) -> tuple[bytes, str]:
    """Return a form's body and its kind; a value may be a list, or a photo with its name."""
    if not any(isinstance(value, tuple) for value in data.values()):
        body = urlencode({k: v for k, v in data.items() if v is not None}, doseq=True)
        return body.encode(), "application/x-www-form-urlencoded"
    edge, pieces = secrets.token_hex(8), []
    for name, value in data.items():
        for one in value if isinstance(value, list) else [value]:
            head = f'--{edge}\r\nContent-Disposition: form-data; name="{name}"'
            if isinstance(one, tuple):
                content = one[0].read()
                head += f'; filename="{one[1]}"\r\nContent-Type: image/jpeg'
            else:
                content = str(one).encode()
            pieces.append(f"{head}\r\n\r\n".encode() + content + b"\r\n")
    whole = b"".join(pieces) + f"--{edge}--\r\n".encode()
    return whole, f"multipart/form-data; boundary={edge}"
