"""A member of staff at a device that runs no script: scans by keyboard, presses buttons."""

from typing import Any

from werkzeug.test import TestResponse

from tests.page import Page, page_of, words


class Hand:
    """Works page by page; `at` is the page that is open."""

    def __init__(self, client: Any, address: str = "/counter/today") -> None:
        self.client = client
        self.at: TestResponse = self.go(address)

    def go(self, address: str) -> TestResponse:
        return self.follow(self.client.get(address))

    def follow(self, response: TestResponse) -> TestResponse:
        """Go where a redirect leads, as a browser does."""
        while response.status_code in (301, 302, 303):
            response = self.client.get(response.headers["Location"].partition("#")[0])
        self.at = response
        return response

    def scan(self, typed: str) -> TestResponse:
        """Type into the one field and press Enter."""
        return self.send("/counter/scan", q=typed)

    def send(self, action: str, drop: tuple[str, ...] = (), **values: Any) -> TestResponse:
        """Fill the form that goes to an address ending in `action` and send it."""
        forms = [f for f in self.page.all("form") if f.get("method", "").lower() == "post"]
        found = [n for n, f in enumerate(forms) if _ends(f.get("action", ""), action)]
        assert found, f"no form goes to {action}: {[f.get('action') for f in forms]}"
        return self.follow(self.client.submit(self.at, form=found[0], drop=drop, **values))

    @property
    def page(self) -> Page:
        return page_of(self.at)

    @property
    def path(self) -> str:
        return str(self.at.request.path)

    @property
    def heading(self) -> str:
        return words(self.page.one("h1"))

    @property
    def told(self) -> list[str]:
        """What the last action is said to have done."""
        return [words(one) for one in self.page.all("p", class_="flash")]

    def wrong(self, name: str) -> str:
        """The sentence beside a field."""
        return words(self.page.one(id=f"{name}-wrong"))


def _ends(address: str, action: str) -> bool:
    return address.partition("?")[0].endswith(action)
