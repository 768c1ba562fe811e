"""Some drawn customers in a real browser: the same plans, the same checks, by clicks and keys."""

import json
from dataclasses import dataclass
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.turns import PATIENCE_MS
from tests.customers import booked
from tests.customers.booked import Order
from tests.customers.figures import Told
from tests.customers.forms import Field, Form, main_form
from tests.customers.house import House
from tests.customers.intake import Intake
from tests.customers.one import somebody
from tests.customers.person import Open, Person
from tests.customers.plans import Plan, plan
from tests.customers.watch import must

pytestmark = pytest.mark.browser
OPEN_ALL = "document.querySelectorAll('main details').forEach(one => { one.open = true })"
# on phone and desktop, with and without script, in each language
SEEDS = (2, 3, 8, 14, 25, 31)


@dataclass
class Paper:
    """What was fetched and is no page."""

    data: bytes


class AtBrowser(Person):
    """Somebody at a real browser window."""

    window: Page

    def get(self, address: str) -> Open:
        answer = self.window.goto(address)
        assert answer is not None
        return self._served(answer)

    def raw(self, address: str) -> Any:
        answer = self.window.request.get(address)
        must(answer.ok, f"GET {address}: {answer.status}")
        return Paper(answer.body())

    def send(self, form: Form, answers: dict[str, Any] | None = None, press: str = "") -> Open:
        """Fill in what differs from how the form stands, and press the button."""
        typed = self._fill(form, answers or {})
        button = self._button(form, press)
        with self.window.expect_navigation() as arrived:
            button.click(force=True)
        return self._served(arrived.value, typed)

    def live(self, form: Form, given: dict[str, Any]) -> Form | None:
        """Choose, and let the page's own script bring it up to date."""
        if not self.window.locator("[data-live]").count():
            return None
        self._fill(form, given)
        self.window.locator("#page").dispatch_event("change")
        self._settle()
        self.read(self.path, 200, "<!doctype html>" + self.window.content().partition(">")[2])
        return main_form(self.page)

    def _served(self, answer: Any, sent: dict[str, Any] | None = None) -> Open:
        path = "/" + self.window.url.partition("://")[2].partition("/")[2].partition("#")[0]
        where = f"{answer.request.method} {path}"
        self.seen.append(f"{where} {answer.status}")
        must(answer.status in (200, 422), f"{where}: error {answer.status}")
        self.window.wait_for_load_state()
        return self.read(path, answer.status, answer.text(), sent)

    def _fill(self, form: Form, answers: dict[str, Any]) -> dict[str, Any]:
        """Answer what can be seen; return what was typed."""
        self.window.evaluate(OPEN_ALL)
        fields = {name: form.fields[name] for name in answers if name in form.fields}
        return {n: answers[n] for n, one in fields.items() if self._answer(one, answers[n])}

    def _settle(self) -> None:
        """Wait until what the last choice changes is there; nobody chooses from what is going."""
        asking = self.window.locator("html[data-lives=asking]")
        expect(asking).to_have_count(0, timeout=PATIENCE_MS)

    def _answer(self, one: Field, answer: Any) -> bool:
        self._settle()
        found = self.window.locator(f"main [name={json.dumps(one.name)}]")
        if one.kind in ("radio", "checkbox"):
            self._tick(one, answer if isinstance(answer, list) else [answer])
            return False
        seen = [line for line in found.all() if one.kind == "file" or line.is_visible()]
        for line in seen:
            if one.kind == "select":
                # an earlier choice may have taken this one off the page
                if line.locator(f"option[value={json.dumps(answer)}]").count():
                    line.select_option(answer)
            elif one.kind == "file":
                photo = {"name": answer[1], "mimeType": "image/jpeg", "buffer": answer[0].read()}
                line.set_input_files(photo)
            else:
                line.fill(answer)
        return bool(seen) and len(one.places) == 1

    def _tick(self, one: Field, wanted: list[str]) -> None:
        stands = self._ticked(one)
        for value in one.values:
            if stands.get(value) == (value in wanted):
                continue  # as it should be
            box = self.window.locator(_valued(one.name, value)).first
            asked = box.locator("xpath=ancestor::label[1]").or_(box).first.is_visible()
            if asked and (one.kind == "checkbox" or value in wanted):
                box.set_checked(value in wanted, force=True)
                self._settle()
                stands = self._ticked(one)

    def _ticked(self, one: Field) -> dict[str, bool]:
        """Return by value what is ticked now: a choice may have changed the others."""
        boxes = self.window.locator(f"main [name={json.dumps(one.name)}]")
        return dict(boxes.evaluate_all("all => all.map(one => [one.value, one.checked])"))

    def _button(self, form: Form, press: str) -> Locator:
        own = form.element.get("id")
        inside = f"form[action={json.dumps(form.action)}] button, button[form={json.dumps(own)}]"
        found = self.window.locator(inside)
        if press:
            return found.and_(self.window.locator(f"button[value={json.dumps(press)}]")).first
        main = found.and_(self.window.locator("button:not([name]):not([formaction]):not(.unseen)"))
        return (main if main.count() else found).last


def _valued(name: str, value: str) -> str:
    return f"main [name={json.dumps(name)}][value={json.dumps(value)}]"


@pytest.mark.parametrize("seed", SEEDS)
def test_a_drawn_customer_gets_the_slip_in_a_real_browser(live, seed: int) -> None:
    who, told = plan(seed), Told()
    # one window is open here, and a page is only left by its own buttons
    who.two_tabs = who.asks = False
    house = House(live.app, live.clock)
    customer = at_browser(live, house, who, size=("phone", "desktop")[seed % 2])
    order = Order(house, who, told, customer, Intake(house, customer, who, told).walk())
    booked.papers(order)
    assert order.parts == told.of("parts")


def at_browser(live: Any, house: House, who: Plan, size: str) -> AtBrowser:
    """Open a window for a customer, in the language and the units that were drawn."""
    drawn = somebody(house, who)
    customer = AtBrowser(None, drawn.language, drawn.allowed, quick=False)
    customer.window = live.person(size, js=who.script)
    for name, value in (("lang", who.language), ("units", who.units)):
        customer.window.context.add_cookies([{"name": name, "value": value, "url": live.url}])
    return customer
