"""Clients that work until they are told to stop: who books, checks in, scans and pays.

Where no answer came, or one that said that nothing was changed, the same press is sent again: the
same form with the same once-token, the same scan with the same id. Now and then somebody gives up
after a lost answer, or presses again what was acknowledged.
"""

import itertools
import queue
import random
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from tests.cast import COUNTER, FLOOR, Staff
from tests.customers.forms import Form
from tests.customers.person import standing
from tests.faults.browser import MOVED, Answer, Browser, Gone
from tests.faults.pressed import Press, Pressed

PAUSE_S = 0.2
MOST_TRIES = 400
ANSWERS: dict[str, dict[str, Any]] = {
    "parts": {"size": "8Jx18 ET35", "build": "cast"},
    "finish": {"A-colour": "R9005-S", "A-gloss": "satin"},
}


class Stopped(Exception):
    """The run is over."""


class Broken(Exception):
    """The portal answered what it never should."""


@dataclass
class Work:
    """What all clients share: where the portal is, what was pressed, and what is to be done."""

    url: str
    pressed: Pressed
    stop: threading.Event = field(default_factory=threading.Event)
    to_check_in: "queue.SimpleQueue[str]" = field(default_factory=queue.SimpleQueue)
    to_scan: "queue.SimpleQueue[tuple[str, str]]" = field(default_factory=queue.SimpleQueue)
    to_pay: list[str] = field(default_factory=list)
    code_of: Callable[[str], str] = str


class Client:
    """One person at a browser, in a thread of its own."""

    name = ""

    def __init__(self, work: Work, number: int) -> None:
        self.work = work
        self.chance = random.Random(f"{self.name} {number}")
        self.browser = Browser(work.url, f"198.51.100.{number}")
        self.thread = threading.Thread(target=self._run, daemon=True)

    def step(self) -> None:
        """Do one thing."""
        raise NotImplementedError

    def _run(self) -> None:
        while not self.work.stop.is_set():
            try:
                self.step()
            except Stopped:
                return
            except Exception as problem:  # the run tells of it; the others go on
                self.work.pressed.broken.append(f"{self.name}: {problem!r}"[:300])
                time.sleep(PAUSE_S)

    def get(self, path: str) -> Answer:
        """Open a page, as often as it takes."""
        return self.again(lambda: self.browser.get(path))

    def again(self, ask: Callable[[], Answer], press: Press | None = None) -> Answer:
        """Ask until there is an answer that is not 503; give a press up where its person does."""
        gives_up = press is not None and self.chance.random() < 0.1
        for _ in range(MOST_TRIES):
            if press is not None:
                press.tries += 1
            try:
                answer = ask()
            except Gone as gone:
                self.work.pressed.lost_answers[str(gone)] += 1
            else:
                if answer.status < 500:
                    return answer
                if answer.status != 503 or "Nothing was booked or changed" not in answer.text:
                    raise Broken(f"{answer.status} of {answer.path}: {answer.text[:200]}")
                self.work.pressed.unavailable[self.name] += 1
            if gives_up or self.work.stop.is_set():
                raise Stopped if self.work.stop.is_set() else _GaveUp
            time.sleep(PAUSE_S)
        raise Broken("no answer at all")

    def sign_in(self, who: Staff) -> None:
        """Sign in by the form, and open a page that has a token."""
        answer = self.get("/counter/sign-in")
        form = answer.form("/sign-in")
        if form is None:
            return  # signed in before
        sent = {"login": who.login, "password": who.password}
        self.again(lambda: self.browser.send(form, sent, path="/counter/sign-in"))

    def staff_page(self, path: str, who: Staff) -> Answer:
        """Open a page of the staff, signing in where need be."""
        for _ in range(5):
            answer = self.get(path)
            if "/sign-in" not in answer.path and answer.status == 200:
                return answer
            self.sign_in(who)
        raise Broken(f"{path}: {answer.status} at {answer.path}")

    def press(
        self, press: Press, ask: Callable[[], Answer], good: Callable[[Answer], bool]
    ) -> bool:
        """Send a press until it is answered; whether it is acknowledged now."""
        self.work.pressed.new(press)
        try:
            answer = self.again(ask, press)
        except _GaveUp:
            return False
        press.acknowledged = good(answer)
        if not press.acknowledged:
            press.refused = f"{answer.status} {answer.location} {said(answer)}"
        elif self.chance.random() < 0.1:
            self.again(ask)  # pressed twice
        return press.acknowledged


class _GaveUp(Exception):
    """No answer came, and who pressed went away."""


def said(answer: Answer) -> str:
    """Return what a page tells of the last press."""
    if not answer.text.lstrip().startswith("<"):
        return answer.text[:200]
    page = answer.page
    told = [*page.all(class_="flash"), *page.all(class_="wrongs")]
    return " | ".join(" ".join("".join(one.itertext()).split()) for one in told)[:200]


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
            "phone": f"07700 900{number % 1000:03}",
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
        for _ in range(40):
            step = answer.path.split("/")[3]
            if step == "read-back":
                return answer
            form = _of_step(answer)
            sent = {**standing(form), **ANSWERS.get(step, {}), **(contact if step == "you" else {})}
            path = form.action or answer.path
            done = self.again(lambda: self.browser.post(path, sent))  # noqa: B023
            onward = done.location if done.status in MOVED else answer.path
            time.sleep(self.chance.random() * PAUSE_S)
            answer = self.get(onward)
        raise Broken(f"the intake stays at {answer.path}")

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
        for number in range(1, 5):
            self._tag(code, number, page)
        answer = self.staff_page(page, COUNTER)
        form = answer.form("/receive")
        if form is None:
            raise Broken(f"{code} can't be received: {said(answer)}")
        self.press(
            Press("receive", code),
            lambda: self.browser.send(form),
            lambda got: got.location.partition("?")[0].endswith(code),
        )

    def _tag(self, code: str, number: int, page: str) -> None:
        tag = str(next(Clerk.tags))
        press = Press("tag", tag, f"{code}:{number}")
        scan = {"scan_id": f"tag-{tag}-{code}", "q": tag, "where": f"check-in:{code}:{number}"}
        csrf = self.staff_page(page, COUNTER).form("/counter/scan").hidden["csrf_token"]
        self.press(press, lambda: self.browser.post_json("/counter/scans", _one(scan), csrf), went)


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

    def step(self) -> None:
        try:
            tag, station = self.work.to_scan.get(timeout=PAUSE_S)
        except queue.Empty:
            return
        csrf = self.staff_page("/counter/floor", FLOOR).form("/counter/scan").hidden["csrf_token"]
        press = Press("scan", f"scan-{next(Scanner.numbers):06}", f"{tag} {station}")
        scan = {"scan_id": press.key, "q": tag, "where": f"floor:{station}"}
        self.press(press, lambda: self.browser.post_json("/counter/scans", _one(scan), csrf), went)
        time.sleep(PAUSE_S)


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
