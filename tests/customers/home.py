"""Ready, handed back and at home: pickup code, payment, inspection sheet and refit guide."""

import re
from typing import Any

import sqlalchemy as sa

from portal.store.tables import Job
from tests.customers import booked, errands, figures
from tests.customers.booked import Order
from tests.customers.counter import Desk
from tests.customers.forms import forms_of
from tests.customers.watch import must
from tests.page import words


def hand_back(desk: Desk, worked_on: int) -> None:
    """Make the job ready, pay, count with the customer, hand back, and read what comes then."""
    order = desk.order
    if order.plan.pays == "before":
        _pay_before(desk)
    desk.get(desk.job)
    desk.press("/ready")
    must("Ready" in " ".join(desk.says), f"can't be made ready: {desk.says}")
    code = _ready(order)
    if order.plan.door == "portal":
        errands.run(order, "ready", most=2)
    if order.plan.likely(0.4):
        _on_the_shelf(desk)
    _sheets(order, worked_on)
    desk.get("/counter/shelf")
    # whatever comes leads there: the slip's code, or the pickup code that the phone shows
    desk.scan(code if order.plan.likely(0.5) else order.code)
    must(desk.person.path.endswith("/hand-back"), f"a ready job leads to {desk.person.path}")
    _count_and_pay(desk, code)
    _at_home(order)


def _on_the_shelf(desk: Desk) -> None:
    """Scan a place on the shelf, then the job: it lies there from then on."""
    place = desk.order.plan.rng.choice(["A1", "B2", "C12"])
    desk.get("/counter/shelf")
    desk.scan(f"SHELF-{place}")
    desk.scan(desk.order.code)
    must(f"lies at {place}" in desk.page.text, f"the shelf place is not noted: {desk.says}")
    desk.get(f"{desk.job}/hand-back")
    must(place in desk.page.text, "the hand-back doesn't say where the parts lie")
    desk.order.plan.note("shelf", "a place")


def _pay_before(desk: Desk) -> None:
    order = desk.order
    half = max(int(order.told.of("price")) // 2, 1)
    desk.get(f"{desk.job}/pay")
    # another sum than the buttons say is asked back, with buttons of its own
    desk.press("/pay", {"amount": f"{half / 100:.2f}"})
    desk.press("/pay", {}, f"card:{half}")
    must("recorded" in " ".join(desk.says), f"a payment is not taken: {desk.says}")
    order.paid += half
    booked.status(order)


def _ready(order: Order) -> str:
    """The status page shows the code, what is owed and how many parts to come for."""
    booked.status(order)
    code = _pickup_code(order)
    page = order.customer.get(order.path).page
    must(re.fullmatch(r"\d{4,6}", code), f"the pickup code is “{code}”")
    room = [
        int(n)
        for e in page.all("li")
        for n in re.findall(r"\b(\d+) (?:parts?|Teile?|piezas?)", words(e))
    ]
    must(room, "nobody tells how many parts to come for")
    must(room[0] == order.parts, f"{order.parts} parts are here, the status page says {room[0]}")
    fresh = [one for one in booked.letters(order) if one.kind == "ready"]
    must(fresh, "no letter says that the parts are ready")
    told = re.search(rf"(?<![\d.,-]){code}(?!\d)", fresh[0].text)
    must(not told, "the letter tells the pickup code to whoever reads it")
    due = int(order.told.of("price")) - order.paid
    must(due in figures.sums(fresh[0].text) or not due, "the letter asks another sum")
    counted = re.search(r"^[^\d\n:]+: (\d+)$", fresh[0].text, re.MULTILINE)
    must(counted and int(counted[1]) == order.parts, "the letter counts other parts")
    return code


def _pickup_code(order: Order) -> str:
    """Read the pickup code, which the page shows for the last digits of the telephone alone."""
    person = order.customer
    page = person.get(order.path).page
    must(not page.all(class_="pickup"), "the pickup code is shown to whoever has the link")
    person.get(f"{order.path}/code")
    asks = next((f for f in forms_of(person.page) if f.action.endswith("/code")), None)
    if asks is None:  # a walk-in who left no number brings the slip
        with order.house.unit.read() as session:
            job = session.scalars(sa.select(Job).where(Job.token == order.token)).one()
            must(not job.customer.phone, "no digits are asked for")
            return job.pickup_code
    right = re.sub(r"\D", "", order.plan.phone)[-4:]
    person.send(asks, {"digits": "0001" if right != "0001" else "0002"})
    must(person.at.status == 422, "wrong digits show the pickup code")
    asks = next(f for f in forms_of(person.page) if f.action.endswith("/code"))
    person.send(asks, {"digits": right})
    must(person.path == order.path, f"the right digits lead to {person.path}")
    must(person.page.all(class_="qr"), "the pickup code has no picture to scan")
    return words(person.page.all(class_="pickup")[0]).split()[-1]


def _sheets(order: Order, worked_on: int) -> None:
    """The inspection sheet has every part that was worked on; the guide can be read."""
    page = order.customer.get(f"{order.path}/inspection").page
    measured = [e for e in page.all(class_="measured") if e.tag == "section"]
    must(len(measured) >= worked_on, f"{worked_on} parts were done, {len(measured)} on the sheet")
    order.customer.get(f"{order.path}/refit")
    if order.plan.pdf:
        for paper in ("refit", "inspection", "tags"):
            order.customer.raw(f"{order.path}/{paper}.pdf")


def _count_and_pay(desk: Desk, code: str) -> None:
    order = desk.order
    form = desk.form("/hand-back")
    must(form, "no form to hand back with")
    facts = figures.sums(words(desk.page.all("dl", class_="facts")[0]))
    must(facts[0] == order.told.of("price"), "the hand-back tells another price")
    due = int(order.told.of("price")) - order.paid
    must(facts[-1] == due, f"the hand-back asks {facts[-1]}, {due} is owed")
    answers: dict[str, Any] = {"pickup_code": code, "parts": form.fields["parts"].values}
    must(len(answers["parts"]) == order.parts, "the hand-back counts other parts")
    if "bags" in form.fields:
        answers["bags"] = form.fields["bags"].values
    press = "all-card" if due > 0 else "none"
    if order.plan.pays == "less" and due:
        answers["paid"] = f"{due // 2 / 100:.2f}"
        answers["owing_because"] = "A–B 7"
        press = "some-cash"
    if order.plan.likely(0.2):
        answers["collector"] = "Sam Sample"
    if order.plan.wrong_first:
        wrong = answers | {"pickup_code": "0000" if code != "0000" else "1111"}
        desk.person.send(form, wrong, press)
        must(desk.person.at.status == 422, "a wrong pickup code is taken")
        form = desk.form("/hand-back")
    # Enter in a field records nothing
    desk.person.send(form, answers, "look")
    must(desk.person.path.endswith("/hand-back"), "Enter in a field hands back")
    form = desk.form("/hand-back")
    desk.person.send(form, answers, press)
    must("Handed back" in " ".join(desk.says), f"not handed back: {desk.page.text[:300]}")
    if order.plan.likely(0.2):
        _taken_back(desk, answers, press)
    order.paid += due // 2 if order.plan.pays == "less" and due else due


def _taken_back(desk: Desk, answers: dict[str, Any], press: str) -> None:
    """Take the hand-back back with its payment, and hand back again."""
    desk.press("/hand-back/undo", {"reason": "A–B 7"})
    must("Back on the shelf" in " ".join(desk.says), f"no way back: {desk.says}")
    desk.get(f"{desk.job}/hand-back")
    again = desk.form("/hand-back")
    must(again, "a job that is back on the shelf can't be handed back")
    must(again.button(press), f"after a hand-back was taken back there is no {press}")
    desk.person.send(again, answers, press)
    must("Handed back" in " ".join(desk.says), f"not handed back again: {desk.says}")
    desk.order.plan.note("home", "hand-back taken back")


def _at_home(order: Order) -> None:
    """After the hand-back the link still tells price, payment and how to fit the parts."""
    booked.status(order)
    guide = order.customer.get(f"{order.path}/refit").page
    if order.corners:
        told = len(re.findall("→", guide.text))
        must(told == order.corners, f"{order.corners} corners were noted, the guide names {told}")
    order.customer.get(f"{order.path}/inspection")
    _receipt(order)
    fresh = [one.kind for one in booked.letters(order)]
    must("handed_back" in fresh, f"no letter after the hand-back: {fresh}")


def _receipt(order: Order) -> None:
    """The receipt charges the price that was told, line by line, and says what is still open."""
    page = order.customer.get(f"{order.path}/receipts").page
    links = [one.get("href", "") for one in page.all("a")]
    found = [one for one in links if "/receipts/R" in one]
    must(found, f"no receipt after the hand-back: {links}")
    paper = order.customer.get(found[0]).page
    price = int(order.told.of("price"))
    lines = [figures.sums(words(one[-1]))[0] for one in paper.all("tr", class_="invoice-line")]
    must(sum(lines) == price, f"the receipt's lines add up to {sum(lines)}, not to {price}")
    totals = [figures.sums(words(one[-1]))[0] for one in paper.all("tr", class_="invoice-total")]
    due = price - order.paid
    must(totals == [price, due], f"the receipt tells {totals}, not {price} and {due} to pay")
    if order.plan.pdf:
        order.customer.raw(f"{found[0]}/pdf")
