"""What every client does: opens pages, signs in, presses until it is answered.

Where no answer came, or one that said that nothing was changed, the same press is sent again: the
same form with the same once-token, the same scan with the same id. Now and then somebody gives up
after a lost answer, or presses again what was acknowledged.
"""

import queue
import random
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from tests.cast import Staff
from tests.faults.browser import Answer, Browser, Gone
from tests.faults.pressed import Press, Pressed

PAUSE_S = 0.2
MOST_TRIES = 400


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
    pass_checks: Callable[[str], object] = str
    twice: float = 0.1  # the share of presses that are pressed again after they were acknowledged


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
            except Gone:
                self.work.pressed.lost_answers[self.name] += 1
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
        elif self.chance.random() < self.work.twice:
            self.again(ask)
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
