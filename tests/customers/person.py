"""Somebody at a browser: opens pages, sends forms; every page that is served is looked through."""

from dataclasses import dataclass, field
from typing import Any

from werkzeug.test import TestResponse

from tests.customers import watch
from tests.customers.forms import Form, main_form, told_of
from tests.customers.watch import Fell, must
from tests.page import BadPage, Page, check_page

MOVED = (301, 302, 303, 308)
LONGEST_CHAIN = 6


@dataclass
class Open:
    """A page that is open."""

    path: str
    status: int
    page: Page


@dataclass
class Person:
    """A browser and who sits at it. `allowed` are the shop's own texts and names of powders."""

    client: Any
    language: str = "en"
    allowed: tuple[str, ...] = ()
    quick: bool = True
    at: Open | None = None
    seen: list[str] = field(default_factory=list)

    @property
    def page(self) -> Page:
        assert self.at is not None
        return self.at.page

    @property
    def path(self) -> str:
        return self.at.path if self.at else ""

    @property
    def step(self) -> str:
        """The page's name in its address: /o/TOKEN/parts/A is `parts`."""
        pieces = self.path.strip("/").split("/")
        return pieces[2] if len(pieces) > 2 else pieces[0]

    def get(self, address: str) -> Open:
        """Open a page by its address, as by a link."""
        return self._follow(self.client.get(address.partition("#")[0]))

    def raw(self, address: str) -> TestResponse:
        """Fetch something that is no page: a PDF, a photo, a calendar file."""
        answer = self.client.get(address)
        must(answer.status_code == 200, f"GET {_tidy(address)}: {answer.status_code}")
        return answer

    def post(self, action: str, sent: dict[str, Any], *, typed: bool = True) -> Open:
        """Send a form and go where it leads."""
        answer = self.client.post(action or self.path, data=sent)
        return self._follow(answer, sent if typed else None)

    def send(self, form: Form, answers: dict[str, Any] | None = None, press: str = "") -> Open:
        """Send a form as it stands with some answers; `press` is the value of its button."""
        sent = told_of(form, standing(form) | (answers or {}))
        button = form.button(press) if press else form.plain
        if button is not None and button.name:
            sent[button.name] = button.value
        action = button.element.get("formaction") if button is not None else ""
        return self.post(action or form.action, sent)

    def live(self, form: Form, given: dict[str, Any]) -> Form | None:
        """Do what the page's script does while one chooses: ask for the live regions, swap them in.

        Returns the form as it stands then; None where the page has no live answer.
        """
        bars = [e for e in self.page.one("main").iter() if e.get("data-live")]
        if not bars:
            return None
        sent = told_of(form, standing(form) | given)
        answer = self.client.post(bars[0].get("data-live"), data=sent)
        where = f"the live answer of {self.step}"
        must(answer.status_code == 200, f"{where}: {answer.status_code}")
        fragment = answer.get_data(as_text=True)
        whole = f'<html lang="{self.language}"><title>x</title><body>{fragment}</body></html>'
        page = Page(whole)
        self._words(page, where)
        for region in page.all():
            name = region.get("data-region")
            found = bars if name == "bar" else self.page.all(data_region=name) if name else []
            for here in found[:1]:
                here[:] = list(region)
                here.text = region.text
        self.page.__dict__.pop("forms", None)
        return main_form(self.page)

    def _words(self, page: Page, where: str) -> None:
        """Look through all that is read on a page."""
        text = watch.all_words(page)
        watch.no_holes(text, where)
        watch.no_nothing(page, where)
        watch.own_words(text, self.language, self.allowed, where)

    def _follow(self, answer: TestResponse, sent: dict[str, Any] | None = None) -> Open:
        for _ in range(LONGEST_CHAIN):
            if answer.status_code not in MOVED:
                return self._look(answer, sent)
            answer = self.client.get(answer.headers["Location"].partition("#")[0])
            sent = None
        raise Fell(f"{answer.request.path} leads round in a circle")

    def _look(self, answer: TestResponse, sent: dict[str, Any] | None) -> Open:
        request = answer.request
        where = f"{request.method} {_tidy(request.path)}"
        self.seen.append(f"{where} {answer.status_code}")
        must(answer.status_code < 500, f"{where}: error {answer.status_code}")
        must(answer.status_code in (200, 422), f"{where}: {answer.status_code}")
        return self.read(request.path, answer.status_code, answer.get_data(as_text=True), sent)

    def read(self, path: str, status: int, html: str, sent: dict[str, Any] | None = None) -> Open:
        """Look a page through, and keep it open."""
        where = _tidy(path)
        try:
            page = check_page(html, strict=not self.quick)
        except BadPage as bad:
            raise Fell(f"{where}: {bad}") from None
        self.at = Open(path, status, page)
        must(page.one("html").get("lang") == self.language, f"{where}: speaks another language")
        self._words(page, where)
        watch.goes_on(page, where)
        if status == 422:
            watch.errors_lead(page, self.language, where)
            watch.nothing_lost(page, sent or {}, where)
        return self.at


def standing(form: Form) -> dict[str, Any]:
    """Return what a browser would send of a form as it stands, without its buttons."""
    sent: dict[str, Any] = dict(form.hidden)
    for one in form.fields.values():
        if one.kind in ("radio", "checkbox"):
            if one.checked:
                sent[one.name] = one.checked if one.kind == "checkbox" else one.checked[0]
        elif one.kind == "select":
            if one.checked:
                sent[one.name] = one.checked[0]
        elif one.kind != "file":
            sent[one.name] = one.value
    return sent


def _tidy(path: str) -> str:
    """Return a path without what differs from one customer to the next."""
    pieces = path.partition("?")[0].split("/")
    return "/".join("…" if len(one) >= 20 and one.isupper() else one for one in pieces)
