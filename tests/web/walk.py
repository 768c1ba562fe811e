"""A customer who walks the intake with a browser that runs no script."""

from collections.abc import Callable
from typing import Any

from werkzeug.test import TestResponse

from tests.databases import as_scene
from tests.page import Page, page_of

WHEELS: dict[str, Any] = {"size": "8Jx18 ET35", "build": "cast"}
CONTACT = {"name": "Robin Sample", "email": "taylor@example.com", "phone": "07700 900321"}


def begin(client: Any) -> TestResponse:
    """Press the button of the first page."""
    first = client.get("/")
    page = page_of(first)
    number = next(n for n in range(9) if page.action(n) == "/o")
    return client.submit(first, form=number)


class Customer:
    """Walks page by page; `at` is the page that is open."""

    def __init__(self, client: Any) -> None:
        self.client = client
        self.at: TestResponse
        self._play("begin", lambda: self.follow(begin(client)))

    def follow(self, response: TestResponse) -> TestResponse:
        """Go where a redirect leads, as a browser does."""
        while response.status_code in (301, 302, 303):
            response = self.client.get(response.headers["Location"])
        self.at = response
        return response

    def send(self, form: int = -1, drop: tuple[str, ...] = (), **values: Any) -> TestResponse:
        """Fill the open page's form (the last one of its content, unless told) and send it."""
        number = form if form >= 0 else self.forms + form
        return self.follow(self.client.submit(self.at, form=number, drop=drop, **values))

    @property
    def forms(self) -> int:
        """How many forms the content of the open page has; the foot's choices are no part of it."""
        forms = [f for f in self.page.all("form") if f.get("method", "").lower() == "post"]
        return len([f for f in forms if "foot-choice" not in f.get("class", "").split()])

    @property
    def fields(self) -> dict[str, Any]:
        """What the open page's last form would send as it stands."""
        return self.page.fields(self.forms - 1)

    @property
    def page(self) -> Page:
        return page_of(self.at)

    @property
    def step(self) -> str:
        """The name of the open page in its address."""
        return self.at.request.path.split("/")[3]

    @property
    def token(self) -> str:
        return self.at.request.path.split("/")[2]

    def url(self, step: str) -> str:
        return f"/o/{self.token}/{step}"

    def go_to(self, step: str) -> TestResponse:
        return self.follow(self.client.get(self.url(step)))

    def walk_to(self, step: str, **parts: Any) -> "Customer":
        """Answer the pages before `step` as the shortest way does."""
        self._play(f"{self.at.request.path} {step} {parts}", lambda: self._walk_to(step, parts))
        return self

    def _walk_to(self, step: str, parts: dict[str, Any]) -> None:
        answers: dict[str, dict[str, Any]] = {
            "parts": WHEELS | parts,
            "on-them": {},
            "comes-off": {},
            "finish": {"A-colour": "R9005-S", "A-gloss": "satin"},
            "day": {},
            "you": CONTACT,
        }
        while self.step != step:
            here = self.step
            self.send(**answers[here])
            assert self.step != here, self.page.text

    def _play(self, what: str, walk: Callable[[], object]) -> None:
        """Walk, or be where somebody who walked the same way from the same shop came to."""
        app = self.client.application

        def play() -> tuple[TestResponse, dict[Any, Any]]:
            walk()
            return self.at, dict(self.client._cookies)

        cookies = sorted(f"{one.key}={one.value}" for one in self.client._cookies.values())
        languages = app.extensions["languages"]
        key = f"walk {what} {cookies} {languages}"
        self.at, kept = as_scene(app.extensions["unit"], key, play)
        self.client._cookies = dict(kept)

    def book(self) -> TestResponse:
        """Confirm everything and press the last button."""
        ticks = {e.get("name", ""): "y" for e in self.page.all("input", type_="checkbox")}
        return self.client.submit(self.at, **ticks)

    def errors(self) -> list[str]:
        """The list at the top, and check that each entry leads to its field."""
        links = self.page.all(class_="wrongs")[0].iter("a")
        return ["".join(a.itertext()) for a in links]
