"""The counter: what arrived against what was declared, tags, the customer's answer, taking in."""

import re
from datetime import timedelta
from typing import Any

from portal.craft.corners import Corner
from tests.cast import COUNTER, Staff
from tests.customers import booked, figures, tests_first
from tests.customers.booked import Order
from tests.customers.forms import Form, forms_of, main_form
from tests.customers.person import Open, Person
from tests.customers.watch import Fell, must
from tests.page import words

FIRST_TAG = 101
CORNERS = frozenset(one.title for one in Corner) - {Corner.UNKNOWN.title}
BY_HAND = 3  # so many tags are scanned without a script, each with its page
CHANGES = {
    "layers": ("powder", "liquid_paint", "wrap"),
    "damage": ("kerb_rash", "corrosion"),
    "fitted": ("centre_cap", "badges", "valve"),
}


class Desk:
    """Somebody of the staff at a device."""

    def __init__(self, order: Order, who: Staff = COUNTER) -> None:
        self.order = order
        self.who = who
        self.person = Person(
            order.house.client(), "en", order.customer.allowed, order.customer.quick
        )
        self.sign_in()

    @property
    def page(self) -> Any:
        return self.person.page

    @property
    def job(self) -> str:
        return f"/counter/job/{self.order.code.replace('-', '')}"

    def sign_in(self) -> None:
        self.person.get("/counter/sign-in")
        form = main_form(self.person.page)
        must(form, "nobody can sign in")
        self.person.send(form, {"login": self.who.login, "password": self.who.password})
        must(not self.person.path.endswith("/sign-in"), f"{self.who.login} can't sign in")

    def get(self, address: str) -> Open:
        """Open a page; sign in again where the time is over."""
        found = self.person.get(address)
        if "/sign-in" in found.path:
            self.sign_in()
            found = self.person.get(address)
        return found

    def form(self, ending: str) -> Form | None:
        """Return the open page's form that goes to an address of this ending."""
        return next(
            (f for f in forms_of(self.page) if f.action.partition("?")[0].endswith(ending)), None
        )

    def press(self, ending: str, answers: dict[str, Any] | None = None, button: str = "") -> Open:
        """Send the form that goes to such an address."""
        form = self.form(ending)
        if form is None:
            raise Fell(f"{self.person.path}: no button for {ending}; it says {self.says}")
        return self.person.send(form, answers, button)

    def scan(self, text: str) -> Open:
        return self.press("/counter/scan", {"q": text})

    @property
    def says(self) -> list[str]:
        """What the page tells of the last act."""
        return [words(e) for e in self.page.all("p", class_="flash")]


def arrive(order: Order) -> Desk:
    """Bring the parts: scan the slip, check, tag, take in; ask the customer where they differ."""
    order.house.clock.set(order.drop_off + timedelta(minutes=7))
    desk = Desk(order)
    desk.get("/counter/today")
    desk.scan(f"http://127.0.0.1:8000{order.path}")
    must(desk.person.path.endswith("/check-in"), f"the slip's link leads to {desk.person.path}")
    _as_told(desk)
    if order.plan.arrival != "as_declared":
        _differs(desk, order.plan.arrival)
    _colours(desk)
    _rest_as_declared(desk)
    _bags(desk)
    if order.plan.likely(0.5):
        tests_first.record(desk, f"{desk.job}/check-in")
        desk.get(f"{desk.job}/check-in")
    _corners(desk)
    _tag(desk)
    desk.press("/receive")
    order.settled = True
    must("Received" in " ".join(desk.says), f"not received: {desk.says}")
    booked.letters(order)
    _answer(desk)
    tests_first.record(desk, desk.job)
    _start(desk)
    if order.plan.likely(0.4):
        booked.note_for_staff(desk)
    return desk


def _as_told(desk: Desk) -> None:
    """The check-in page counts and promises what the slip did."""
    told = re.search(r"(\d+)/(\d+)", words(desk.page.all(class_="bar-now")[0]))
    must(told, "the check-in counts nothing")
    desk.order.told.tell("parts", int(told[2]), "the check-in")
    lead = words(desk.page.all("p", class_="lead")[0])
    desk.order.told.promise(desk.order.days(lead, "en"), "the check-in")


def _differs(desk: Desk, arrival: str) -> None:
    """Report what differs or is wanted now; sometimes a second thing, in the same question."""
    order = desk.order
    if arrival == "missing" and order.parts < 2:
        order.plan.arrival = "as_declared"
        return
    if not _reports(desk, arrival, agreed=order.plan.likely(0.3)):
        order.plan.arrival = "as_declared"
        desk.get(f"{desk.job}/check-in")
    elif arrival != "damage" and order.plan.likely(0.3):
        desk.get(f"{desk.job}/check-in")
        if _reports(desk, "damage", agreed=False):
            order.plan.note("arrival", "two findings")
        else:
            desk.get(f"{desk.job}/check-in")


def _reports(desk: Desk, arrival: str, *, agreed: bool) -> bool:
    """Report one thing, as it is weighed in money and days; False where nothing can differ."""
    order = desk.order
    about = {"missing": "count", "more": "count"}.get(arrival, arrival)
    links = [a.get("href") or "" for a in desk.page.all("a")]
    ways = [one for one in links if "/differs?" in one and f"about={about}" in one]
    if not ways:
        must(arrival == "finish", f"the check-in has no way to say what differs: {about}")
        return False  # its colour is still to be chosen
    desk.get(order.plan.rng.choice(ways))
    form = desk.form("/differs")
    must(form, "no form for what differs")
    answers = _changed(form, arrival)
    if answers is None:
        return False
    # more parts are agreed at once: what they are not agreed to goes home as it came
    agreed = agreed or arrival == "more"
    desk.person.send(form, answers, "weigh")
    if arrival == "finish" and desk.person.at.status != 200:
        return False  # not every colour can be had with these coats
    must(desk.person.at.status == 200, f"what differs can't be weighed: {desk.page.text[:300]}")
    if "nothing differs" in desk.page.text:
        raise Fell("a change is said to be none")
    form = desk.form("/differs")
    told = form.button("agree")
    desk.person.send(form, {}, "agree" if agreed and told else "raise")
    must(desk.person.path.endswith("/check-in"), "what differs can't be raised")
    order.plan.note("arrival", f"{arrival}, agreed at once" if agreed and told else arrival)
    order.parts += {"missing": -1, "more": 1}.get(arrival, 0)
    booked.letters(order)
    if agreed and told:
        order.told.again("price", "limit of the price", "promised day", "last day", "parts")
        order.told.tell("price", figures.sums(told.label)[0], "the change agreed at the counter")
        status_says_the_same(order)
    return True


def _changed(form: Form, arrival: str) -> dict[str, Any] | None:
    """Return what is answered on the form of a change; None where nothing else can be chosen."""
    if arrival == "more":
        return {"more": "1"}
    if arrival == "missing":
        return {"missing": "y", "parts": form.fields["parts"].values[:1]}
    if arrival == "finish":
        plate = form.fields["plate"]
        new = [one for one in plate.values if one not in plate.checked]
        return {"plate": new[0]} if new else None
    field = form.fields[arrival]
    new = [v for v in CHANGES[arrival] if v in field.values and v not in field.checked]
    if not new:
        return None
    answers = {arrival: [new[0]] if arrival == "layers" else [*field.checked, new[0]]}
    return {**answers, "note": "A–B 7"}


def _colours(desk: Desk) -> None:
    """Choose the colour from the samples with the customer, for every set that waits for it."""
    order = desk.order
    for _ in order.plan.sets * 2:
        links = [a.get("href") or "" for a in desk.page.all("a")]
        link = next((one for one in links if "/colour?" in one), None)
        if link is None:
            return
        desk.get(link)
        form = desk.form("/colour")
        must(form, "no form to choose the colour with")
        plate = order.plan.rng.choice(form.fields["plate"].values)
        desk.person.send(form, {"plate": plate}, "weigh")
        must(desk.person.at.status == 200, f"the plate {plate} is refused")
        told = [figures.sums(words(p)) for p in desk.page.all("p") if "Price" in words(p)]
        desk.press("/colour", {}, "choose")
        must(desk.person.path.endswith("/check-in"), f"the colour is not saved: {desk.says}")
        order.told.again("price", "limit of the price", "promised day", "last day")
        order.told.tell("price", told[0][0], "the choice of the colour")
        order.plan.note("arrival", "colour chosen")
        booked.status(order)
        booked.breakdown(order)
    raise Fell("the colour is asked again and again")


def _rest_as_declared(desk: Desk) -> None:
    for _ in range(8):
        if desk.form("/receive"):
            return
        desk.press("/as-declared")
    raise Fell(f"the parts can't be checked: {desk.says}")


def _bags(desk: Desk) -> None:
    """Bag one thing that is offered."""
    offered = [
        f for f in forms_of(desk.page) if f.action.endswith("/bag") and f.hidden.get("contents")
    ]
    if offered and desk.order.plan.likely(0.5):
        desk.person.send(offered[0])


def _corners(desk: Desk) -> None:
    """Note where the wheels sat, by one press a set, or box by box; some nobody knows."""
    order, rng = desk.order, desk.order.plan.rng
    for _ in range(8):
        found = [
            f for f in forms_of(desk.page) if f.action.endswith("/corners") and "set" in f.hidden
        ]
        rows = [f for f in found if "row" in f.hidden]
        if not rows:
            break
        boxes = [f for f in found if f.fields and f.hidden["set"] == rows[0].hidden["set"]]
        if boxes and order.plan.likely(0.3):
            form = boxes[0]
            desk.person.send(
                form, {n: rng.choice([v for v in f.values if v]) for n, f in form.fields.items()}
            )
        else:
            desk.person.send(rng.choice(rows))
        must(desk.person.path.endswith("/check-in"), f"the corners are not saved: {desk.says}")
        order.plan.note("arrival", "corners noted")
    order.corners = len([e for e in desk.page.all("span", class_="stamp") if words(e) in CORNERS])


def _tag(desk: Desk) -> None:
    """Tag every part that is here: a few page by page, the rest as the script sends them."""
    tags = [str(FIRST_TAG + n) for n in range(desk.order.parts)]
    for one in tags[:BY_HAND]:
        desk.scan(one)
    if tags[BY_HAND:]:
        scan_all(desk, tags[BY_HAND:])
        desk.get(f"{desk.job}/check-in")
    told = re.findall(r"(\d+)/(\d+)", words(desk.page.all(class_="bar-now")[0]))
    must(
        told[-1] == (str(len(tags)), str(len(tags))),
        f"of {len(tags)} parts {told[-1]} are tagged: {desk.says}",
    )


def scan_all(desk: Desk, tags: list[str]) -> None:
    """Scan one tag after the other without leaving the page."""
    form = desk.form("/counter/scan")
    if form is None:
        raise Fell("no field to scan into")
    place = form.hidden["where"]
    by = form.element.get("data-by")
    kept = [
        {"scan_id": f"{desk.order.code}{place}{tag}"[:40], "q": tag, "where": place, "by": by}
        for tag in tags
    ]
    answer = desk.person.client.post(
        "/counter/scans",
        json={"scans": kept},
        headers={"X-CSRFToken": form.hidden["csrf_token"]},
    )
    must(answer.status_code == 200, f"scans are answered with {answer.status_code}")
    wrong = [one["says"] for one in answer.get_json()["results"] if one["kind"] == "stop"]
    must(not wrong, f"scans are refused: {wrong[:2]}")


def _answer(desk: Desk) -> None:
    """Let the customer answer what was found, by the link or at the counter."""
    order = desk.order
    page = order.customer.get(order.path).page
    form = next((f for f in forms_of(page) if f.action.endswith("/answer")), None)
    if form is None:
        status_says_the_same(order)
        return
    change = figures.total_row(page)
    yes = order.plan.says_yes
    if order.plan.by_link:
        _by_link(order, form, yes=yes)
    else:
        desk.get(f"{desk.job}/check-in")
        found = [
            f for f in forms_of(desk.page) if f.hidden.get("answer") == ("yes" if yes else "no")
        ]
        must(found, "the counter can't note the customer's answer")
        desk.person.send(found[0])
    if yes:
        order.told.again("price", "limit of the price", "promised day", "last day", "parts")
        must(change, "a finding tells no sum")
        order.told.tell("price", change[-1], "the finding")
    order.plan.note("answer", "yes" if yes else "no")
    status_says_the_same(order)


def _by_link(order: Order, form: Form, *, yes: bool) -> None:
    digits = next(name for name in form.fields if name.endswith("digits"))
    button = next(b for b in form.buttons if b.name.endswith("yes" if yes else "no"))
    right = re.sub(r"\D", "", order.plan.phone)[-4:]
    if order.plan.wrong_first:
        wrong = "0001" if right != "0001" else "0002"
        order.customer.post(form.action, {**form.hidden, digits: wrong, button.name: "1"})
        must(order.customer.at.status == 422, "wrong digits are taken")
        again = next(f for f in forms_of(order.customer.page) if f.action.endswith("/answer"))
        form = again
    order.customer.post(form.action, {**form.hidden, digits: right, button.name: "1"})
    must(order.customer.at.status == 200, "the customer's answer is not taken")


def status_says_the_same(order: Order) -> None:
    """The status page and the breakdown still tell what was told."""
    booked.status(order)
    booked.breakdown(order)


def _start(desk: Desk) -> None:
    """Start work where it waits for us."""
    desk.get(desk.job)
    if desk.form("/start"):
        desk.press("/start")
    must(not desk.form("/start"), f"work can't start: {desk.says}")
    due = figures.sums(" ".join(words(e) for e in desk.page.all("dl", class_="facts")))
    must(due, "the job tells no sum")
    must(due[-1] == desk.order.told.of("price") - desk.order.paid, "the counter asks another sum")
