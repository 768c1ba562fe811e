"""Who works while something breaks: who books, checks in, scans and takes money.

All do it again and again until they are told to stop.
"""

import itertools
import queue
import time
from typing import Any

from tests.cast import COUNTER, FLOOR
from tests.customers.forms import Form
from tests.customers.person import standing
from tests.faults.browser import MOVED, Answer
from tests.faults.clients import PAUSE_S, Broken, Client, Work, said
from tests.faults.pressed import Press

ANSWERS: dict[str, dict[str, Any]] = {
    "parts": {"size": "8Jx18 ET35", "build": "cast"},
    "finish": {"A-colour": "R9005-S", "A-gloss": "satin"},
}
STATIONS = ("blast", "coat")
TRIES = 6  # of a press that was refused because something had changed


class Customer(Client):
    """Books four wheels, again and again under another name."""

    name = "customer"
    numbers = itertools.count(1)

    def step(self) -> None:
        number = next(Customer.numbers)
        self.browser.cookies.clear()
        contact = {
            "name": "Robin Sample",
            "email": f"customer-{number}@example.com",
            "phone": f"07700 900{200 + number % 800}",  # nobody else of this shop has one of these
        }
        token = self._begin()
        answer = self._walk(token, contact)
        for _ in range(20):
            form = answer.form("/read-back")
            if form is None:
                return
            press = Press("book", token, contact["email"])
            sent = standing(form) | {n: "y" for n, f in form.fields.items() if f.kind == "checkbox"}
            way = form.action
            if self.press(press, lambda: self.browser.post(way, sent), booked):  # noqa: B023
                self._booked(press, token)
                return
            if not press.refused:
                return  # gave up
            self.work.pressed.all.remove(press)  # price or date has changed: it is read again
            answer = self._walk(token, contact)

    def _begin(self) -> str:
        first = self.get("/")
        form = next(one for one in first.forms if one.action == "/o")
        answer = self.again(lambda: self.browser.send(form))
        return answer.location.split("/")[2]

    def _walk(self, token: str, contact: dict[str, str]) -> Answer:
        answer = self.get(f"/o/{token}/parts")
        trail: list[str] = []
        for _ in range(40):
            step = answer.path.split("/")[3]
            if step == "read-back":
                return answer
            form = _of_step(answer)
            sent = {**standing(form), **ANSWERS.get(step, {}), **(contact if step == "you" else {})}
            path = form.action or answer.path
            done = self.again(lambda: self.browser.post(path, sent))  # noqa: B023
            onward = done.location if done.status in MOVED else answer.path
            trail.append(
                f"{step} {done.status} {'' if done.status in MOVED else said(done)}".strip()
            )
            time.sleep(self.chance.random() * PAUSE_S)
            answer = self.get(onward)
        raise Broken(f"the intake stays at {answer.path}: {', '.join(trail[-6:])}")

    def _booked(self, press: Press, token: str) -> None:
        code = self.work.code_of(token)
        press.about = f"{press.about} {code}"
        self.work.to_check_in.put(code)
        self.work.to_pay.append(code)


def booked(answer: Answer) -> bool:
    return answer.status in MOVED and answer.location.startswith("/J/")


def _of_step(answer: Answer) -> Form:
    step = answer.path.split("/")[3]
    found = [f for f in answer.forms if f.element.get("id") == "page" or f.action.endswith(step)]
    if not found:
        raise Broken(f"no form at {answer.path}: {[f.action for f in answer.forms]}")
    return found[-1]


class Clerk(Client):
    """Checks jobs in: all as declared, a tag on each part, received."""

    name = "clerk"
    tags = itertools.count(5001)

    def step(self) -> None:
        try:
            code = self.work.to_check_in.get(timeout=PAUSE_S)
        except queue.Empty:
            return
        page = f"/counter/job/{code}/check-in"
        for _ in range(12):
            answer = self.staff_page(page, COUNTER)
            form = answer.form("/as-declared") or _with_row(answer)
            if form is None:
                break
            self.again(lambda: self.browser.send(form, _button(form)))  # noqa: B023
        self._receive(code, page)

    def _receive(self, code: str, page: str) -> None:
        """Put a tag on each part and receive the job; again where somebody else was faster."""
        worn: dict[int, str] = {}
        for _ in range(TRIES):
            answer = self.staff_page(page, COUNTER)
            csrf = answer.form("/counter/scan").hidden["csrf_token"]
            for number in {1, 2, 3, 4} - worn.keys():
                if tag := self._tag(code, number, csrf):
                    worn[number] = tag
            answer = self.staff_page(page, COUNTER)
            form = answer.form("/receive")
            if form is None:
                raise Broken(f"{code} can't be received: {said(answer)}")
            press = Press("receive", code)
            send = lambda: self.browser.send(form)  # noqa: E731, B023
            good = lambda got: got.location.partition("?")[0].endswith(code)  # noqa: E731
            if self.press(press, send, good):
                self._hand_over(code, worn)
                return
            if not press.refused:
                return  # gave up
            self.work.pressed.all.remove(press)  # it is read again
        raise Broken(f"{code} was refused {TRIES} times: {press.refused}")

    def _hand_over(self, code: str, worn: dict[int, str]) -> None:
        """Let the floor have it, with the tests before the work done."""
        self.work.pass_checks(code)
        for tag, station in itertools.product(worn.values(), STATIONS):
            self.work.to_scan.put((tag, station))

    def _tag(self, code: str, number: int, csrf: str) -> str:
        """Put a tag on a part; return its number, "" where that is not known."""
        tag = str(next(Clerk.tags))
        press = Press("tag", tag, f"{code}:{number}")
        scan = {"scan_id": f"tag-{tag}-{code}", "q": tag, "where": f"check-in:{code}:{number}"}
        send = lambda: self.browser.post_json("/counter/scans", _one(scan), csrf)  # noqa: E731
        return tag if self.press(press, send, went) else ""


def _with_row(answer: Answer) -> Form | None:
    rows = (f for f in answer.forms if f.action.endswith("/corners") and "row" in f.hidden)
    return next(rows, None)


def _button(form: Form) -> dict[str, str]:
    plain = form.plain
    return {plain.name: plain.value} if plain is not None and plain.name else {}


def _one(scan: dict[str, str]) -> dict[str, Any]:
    return {"scans": [{**scan, "by": ""}]}


def went(answer: Answer) -> bool:
    return answer.status == 200 and ('"go"' in answer.text or '"tell"' in answer.text)


class Scanner(Client):
    """Scans tags into the next station, each with an id of its own."""

    name = "scanner"
    numbers = itertools.count(1)
    csrf = ""

    def step(self) -> None:
        try:
            tag, station = self.work.to_scan.get(timeout=PAUSE_S)
        except queue.Empty:
            return
        press = Press("scan", f"scan-{next(Scanner.numbers):06}", f"{tag} {station}")
        scan = {"scan_id": press.key, "q": tag, "where": f"floor:{station}"}
        self.press(press, lambda: self._send(scan), went)
        time.sleep(PAUSE_S)

    def _send(self, scan: dict[str, str]) -> Answer:
        """Send a scan with the form token that the device has; with a new one where it is over."""
        answer = self.browser.post_json("/counter/scans", _one(scan), self.csrf)
        if answer.status == 200 or answer.status >= 500:
            return answer
        page = self.staff_page("/counter/floor", FLOOR)
        self.csrf = page.form("/counter/scan").hidden["csrf_token"]
        return self.browser.post_json("/counter/scans", _one(scan), self.csrf)


class Payer(Client):
    """Records small payments, each of a sum that its job has once."""

    name = "payer"
    sums = itertools.count(101)

    def step(self) -> None:
        if not self.work.to_pay:
            time.sleep(PAUSE_S)
            return
        code, minor = self.chance.choice(self.work.to_pay[-40:]), next(Payer.sums)
        page = f"/counter/job/{code}/pay"
        form = self.staff_page(page, COUNTER).form("/pay")
        if form is None:
            raise Broken(f"nobody can pay for {code}")
        amount = {"amount": f"{minor / 100:.2f}", "record": f"cash:{minor}"}
        self.press(
            Press("pay", code, form.hidden.get("once", ""), minor),
            lambda: self.browser.send(form, amount, path=page),
            lambda got: got.location.partition("?")[0].endswith(code),
        )
        time.sleep(PAUSE_S)


CLIENTS = (Customer, Clerk, Scanner, Payer, Customer, Payer)


def let_go(work: Work, kinds: tuple[type[Client], ...] = CLIENTS) -> list[Client]:
    """Start the clients."""
    found = [kind(work, number) for number, kind in enumerate(kinds, 1)]
    for one in found:
        one.thread.start()
    return found
