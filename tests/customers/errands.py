"""What customers do at the link at any moment after booking, in no order that anybody foresaw.

Each errand opens its page, answers with what the page offers, and reads the status page again: no
page fails, and price, payment and date stand there as before, or as the errand announced them.
"""

import random
import re
from collections.abc import Callable

from tests.customers import booked, figures
from tests.customers.booked import Order
from tests.customers.forms import Form, forms_of
from tests.customers.watch import must
from tests.page import words

Errand = Callable[[Order, random.Random], bool]
# every page behind a link, whatever the state of the job
PAGES = (
    *("", "/price", "/slip", "/tags", "/show", "/ask", "/prepare", "/time", "/call-off", "/finish"),
    *("/contact", "/fetch", "/code", "/pickup-time", "/pay", "/news", "/receipts", "/inspection"),
    *("/refit", "/record", "/wrong", "/again", "/tyre-shop", "/drop-off.ics", "/show.png"),
)
ANSWERS = (200, 302, 303, 404, 409, 410)
CHANGED = ("price", "limit of the price", "promised day", "last day")


def wander(order: Order) -> None:
    """Open every page behind the link, also those that this state doesn't have."""
    for page in PAGES:
        answer = order.customer.client.get(f"{order.path}{page}")
        must(answer.status_code in ANSWERS, f"GET …{page}: {answer.status_code}")


def run(order: Order, when: str, most: int = 3) -> None:
    """Do some errands; which ones is drawn from the customer's number and the moment."""
    rng = random.Random(f"errands {when} {order.plan.seed}")
    wander(order)
    for _ in range(rng.randint(0, most)):
        name, errand = rng.choice(list(ERRANDS.items()))
        if errand(order, rng):
            order.plan.note("errand", f"{name}, {when}")
            booked.status(order)
    booked.letters(order)


def _open(order: Order, page: str) -> Form | None:
    """Open a page that the link may have, and return its form."""
    answer = order.customer.client.get(f"{order.path}{page}")
    if answer.status_code != 200:
        return None
    order.customer.get(f"{order.path}{page}")
    found = [f for f in forms_of(order.customer.page) if f.action.endswith(page)]
    return found[0] if found else None


def _digits(order: Order) -> str:
    return re.sub(r"\D", "", order.plan.phone)[-4:]


def _with_digits(order: Order, form: Form, answers: dict[str, str], press: str = "") -> None:
    known = {"digits": _digits(order)} if "digits" in form.fields else {}
    order.customer.send(form, answers | known, press)
    must(order.customer.at.status == 200, f"{form.action} is refused: {_errors(order)}")


def _errors(order: Order) -> list[str]:
    return [words(e) for e in order.customer.page.all("p", class_="wrong")]


def _writes(where: str, text: str) -> Callable[[Order, random.Random], bool]:
    """Return the errand of writing to the works on a page."""

    def write(order: Order, _rng: random.Random) -> bool:
        form = _open(order, where)
        if form is None:
            return False
        order.customer.send(form, {"text": text})
        must(text in order.customer.page.text, f"what was written at {where} is not on the page")
        return True

    return write


def _tick(order: Order, rng: random.Random) -> bool:
    form = _open(order, "/prepare")
    if form is None or "done" not in form.fields:
        return False
    every = form.fields["done"].values
    order.customer.send(form, {"done": [one for one in every if rng.random() < 0.5]})
    return True


def _could_not(order: Order, rng: random.Random) -> bool:
    """Leave an item to the works: the new total is shown before, and on every page after."""
    if _open(order, "/prepare") is None:
        return False
    links = [a.get("href", "") for a in order.customer.page.all("a")]
    ways = [one for one in links if re.search(r"/prepare/.", one)]
    if not ways:
        return False
    form = _open(order, rng.choice(ways).removeprefix(order.path))
    if form is None:
        return False
    return _agree(order, form)


def _finish(order: Order, rng: random.Random) -> bool:
    """Choose another colour: the new total is shown before, and on every page after."""
    form = _open(order, "/finish")
    if form is None:
        return False
    drawn = {
        name: rng.choice(one.values)
        for name in ("system", "colour", "gloss")
        if (one := form.fields.get(name)) and one.values
    }
    person = order.customer
    person.send(form, drawn, "weigh")
    if person.at.status == 422:  # not every colour goes with every system
        return False
    form = next(f for f in forms_of(person.page) if f.action.endswith("/finish"))
    return form.button("take") is not None and _agree(order, form, "take")


def _agree(order: Order, form: Form, press: str = "") -> bool:
    """Press what the page told the price of, and hold everything else against it."""
    total = figures.total_row(order.customer.page)
    must(total, f"{form.action} tells no new total")
    _with_digits(order, form, {}, press)
    order.told.again(*CHANGED)
    order.told.price(total, form.action)
    booked.breakdown(order)
    return True


def _contact(order: Order, rng: random.Random) -> bool:
    form = _open(order, "/contact")
    if form is None or "email" not in form.fields:
        return False
    _with_digits(order, form, {"email": f"moved{rng.randrange(99)}@example.com"})
    return True


def _fetch(order: Order, _rng: random.Random) -> bool:
    form = _open(order, "/fetch")
    if form is None:
        return False
    order.fetchers += 1  # who is named a second time is no change, and that is refused
    _with_digits(order, form, {"name": f"Sam {'Sample' * order.fetchers}"})
    return True


def _pickup_time(order: Order, rng: random.Random) -> bool:
    form = _open(order, "/pickup-time")
    if form is None or not form.fields["slot"].values:
        return False
    order.customer.send(form, {"slot": rng.choice(form.fields["slot"].values)})
    must(order.customer.path == order.path, "a pickup time leads elsewhere")
    return True


def _lost_slip(order: Order, _rng: random.Random) -> bool:
    """The link goes to the address that is known; the page never shows it."""
    order.customer.get("/lost-slip")
    form = next(f for f in forms_of(order.customer.page) if f.action.endswith("/lost-slip"))
    order.customer.send(form, {"known": order.code})
    must(order.token not in order.customer.page.html, "a lost slip's page shows the link")
    return True


def _record(order: Order, _rng: random.Random) -> bool:
    """The record that is handed on names nobody."""
    form = _open(order, "/record")
    if form is None:
        return False
    order.customer.send(form, {})
    found = re.search(r"/record/[A-Z2-7]{26}", order.customer.page.html)
    must(found, "the record has no link of its own")
    page = order.customer.get(found[0]).page
    must(order.plan.name not in page.text or len(order.plan.name) < 3, "the record names somebody")
    must(order.token not in page.html, "the record leads to the customer's own page")
    return True


def _again(order: Order, _rng: random.Random) -> bool:
    """The same again begins a new order; this one stays as it is."""
    form = _open(order, "/again")
    if form is None:
        return False
    known = {"digits": _digits(order)} if "digits" in form.fields else {}
    order.customer.send(form, known)
    must(order.customer.path.startswith("/o/"), f"the same again leads to {order.customer.path}")
    return True


ERRANDS: dict[str, Errand] = {
    "asks": _writes("/ask", "A–B 7?"),
    "something is wrong": _writes("/wrong", "A–B 8!"),
    "ticks": _tick,
    "couldn't": _could_not,
    "another finish": _finish,
    "another contact": _contact,
    "somebody else fetches": _fetch,
    "pickup time": _pickup_time,
    "lost the slip": _lost_slip,
    "hands the record on": _record,
    "the same again": _again,
}


def call_off(order: Order) -> bool:
    """Call the order off where the link still can; return whether it did."""
    form = _open(order, "/call-off")
    if form is None:
        return False
    _with_digits(order, form, {})
    page = order.customer.get(order.path).page
    must(not page.all(class_="rail"), "an order that is called off still has its way")
    wander(order)
    fresh = [one.kind for one in booked.letters(order)]
    must(fresh, "no letter tells of the end")
    order.plan.note("habit", "called off by the link")
    return True
