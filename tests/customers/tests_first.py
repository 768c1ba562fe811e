"""The tests that come before the work: recorded at the door or on the floor, by the real pages."""

import re
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

from tests.customers import booked, figures
from tests.customers.forms import forms_of
from tests.customers.watch import must

if TYPE_CHECKING:
    from tests.customers.counter import Desk

MOST_TESTS = 60
CHECK = re.compile(r"/check/(\w+)")


def record(desk: "Desk", page: str, part: str = "") -> int:
    """Record every test that a page leads to (inside its element `part`); return how many."""
    for number in range(MOST_TESTS):
        desk.get(page)
        link = _link(desk, part)
        if link is None:
            return number
        _one(desk, link)
    raise AssertionError(f"{page} leads to tests without end")


def _link(desk: "Desk", part: str) -> str | None:
    """Return the first way to a test that is open; one that is recorded is no work."""
    places = desk.page.all(id=part) if part else [desk.page.one("main")]
    for place in places:
        for test in [place] if part else [e for e in place.iter() if e.get("class") == "test"]:
            if not part and test.get("data-state") != "open":
                continue
            for a in test.iter("a"):
                if CHECK.search(a.get("href") or "") and "result=" not in (a.get("href") or ""):
                    return a.get("href")
    return None


def _one(desk: "Desk", link: str) -> None:
    """Record that nothing was found, now and then one part after the other."""
    kind = (CHECK.search(link) or [""])[1]
    desk.get(link)
    form = desk.form(f"/check/{kind}")
    must(form, f"the test {kind} has no form")
    assert form is not None
    good = [b for b in form.buttons if b.name == "result" and not _warns(b.element)]
    must(good, f"the test {kind} has no result that lets parts go on")
    button = good[0]
    answers: dict[str, object] = {"note": "K–7"} if desk.order.plan.likely(0.3) else {}
    parts = form.fields["part"].values
    if len(parts) > 1 and desk.order.plan.likely(0.2):
        answers["part"] = parts[:1]
    before = _limit(desk)
    desk.person.send(form, answers, button.value)
    must("recorded" in " ".join(desk.says), f"the test {kind} is not recorded: {desk.says}")
    desk.order.plan.note("test", kind)
    if "asked the customer" in " ".join(desk.says):
        _agree(desk)
    else:
        _price(desk, before)


def _agree(desk: "Desk") -> None:
    """Let the customer agree at the counter to what a test found."""
    desk.get(f"{desk.job}/check-in")
    yes = [f for f in forms_of(desk.page) if f.hidden.get("answer") == "yes"]
    must(yes, "the counter can't record that the customer agrees to what a test found")
    desk.person.send(yes[0])
    booked.letters(desk.order)
    _price(desk, 10**9)


def _warns(element: Element) -> bool:
    return "button--warn" in (element.get("class") or "")


def _limit(desk: "Desk") -> int:
    first = desk.order.told.first
    found = first.get("limit of the price") or first["price"]
    return int(str(found[1]))


def _price(desk: "Desk", limit: int) -> None:
    """What a test fills in may change the price, but never beyond what the customer agreed to."""
    order = desk.order
    order.told.again("price", "limit of the price", "promised day", "last day")
    page = order.customer.get(f"{order.path}/price").page
    now = figures.total_row(page)[0]
    must(now <= limit, f"a test takes the price to {now}, beyond {limit}")
    booked.breakdown(order)
    booked.status(order)
