"""Customers and scanners of a load: each does one thing a second."""

import itertools
import random
import re
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from portal.shop.route import PartStage
from tests.cast import FLOOR
from tests.load.browser import Answer, Browser, Visitor
from tests.load.figures import Figures

TOKEN = re.compile(r'name="csrf_token" value="([^"]+)"')
READ = ("/", "/privacy", "/figures")
STATIONS = (PartStage.STRIP, PartStage.BLAST, PartStage.COAT, PartStage.INSPECT)
WALKERS = 10  # of the customers so many walk through their order; the others read


@dataclass
class Load:
    """What all clients of a load share."""

    ports: list[int]
    links: Sequence[str]
    figures: dict[str, Figures] = field(default_factory=dict)
    booked: list[str] = field(default_factory=list)
    late: int = 0
    phones: "itertools.count[int]" = field(default_factory=lambda: itertools.count(100))
    end: float = 0.0

    def timed(self, what: str, ask: Callable[[], Answer], good: Sequence[int]) -> Answer | None:
        """Ask, and note how long it took; None where there was no good answer."""
        began = time.perf_counter()
        try:
            answer = ask()
        except OSError as wrong:
            self.figures[what].add(time.perf_counter() - began, wrong=type(wrong).__name__)
            return None
        bad = "" if answer.status_code in good else str(answer.status_code)
        self.figures[what].add(time.perf_counter() - began, wrong=bad)
        return None if bad else answer

    def every_second(self, step: Callable[[], None]) -> None:
        """Do a step at each second; one that comes too late is counted, and the next is in time."""
        at = time.monotonic() + random.random()
        while at < self.end:
            time.sleep(max(0.0, at - time.monotonic()))
            step()
            missed = int(max(0.0, time.monotonic() - at))
            self.late += missed
            at += 1 + missed


def reader(load: Load, seed: int) -> None:
    """A customer who looks at pages: the first one, the own order's, what is told of the trade."""
    chance, browser = random.Random(seed), Browser(list(load.ports))

    def step() -> None:
        path = chance.choice(load.links) if chance.random() < 0.7 else chance.choice(READ)
        load.timed("customers read", lambda: browser.get(path), (200,))

    load.every_second(step)


def walker(load: Load, seed: int) -> None:
    """A customer who orders, a page a second, and begins again: with another telephone."""
    chance = random.Random(seed)
    visitor: Timed | None = None

    def begin() -> None:
        nonlocal visitor
        ports = list(load.ports)
        chance.shuffle(ports)
        visitor = Timed(Browser(ports), load)

    def step() -> None:
        nonlocal visitor
        try:
            if visitor is None:
                begin()
            else:
                visitor = visitor if visitor.go_on(next(load.phones)) else None
        except GaveUp:
            visitor = None

    load.every_second(step)


class GaveUp(Exception):
    """A page that did not come, and is counted already."""


class Timed(Visitor):
    """A visitor whose every request is counted."""

    def __init__(self, browser: Browser, load: Load) -> None:
        self.load = load
        browser.ask = self._counted(browser.ask)  # type: ignore[method-assign]
        super().__init__(browser)

    def _counted(self, ask: Callable[..., Answer]) -> Callable[..., Answer]:
        def counted(verb: str, *rest: object) -> Answer:
            what = "customers read" if verb == "GET" else "customers send"
            answer = self.load.timed(what, lambda: ask(verb, *rest), (200, 302, 303, 422))
            if answer is None:
                raise GaveUp
            return answer

        return counted

    def go_on(self, number: int) -> bool:
        """Answer the open page; False when the order is booked or can't be."""
        if self.step == "read-back":
            answer = self.book()
            if answer.status_code == 303 and "/J/" in answer.headers["Location"]:
                self.load.booked.append(answer.headers["Location"])
            return False
        before = self.step
        contact = {
            "name": "Robin Sample",
            "email": f"robin{number}@example.com",
            "phone": f"07700 900{number % 900 + 100}",
        }
        answers = {
            "parts": {"size": "8Jx18 ET35", "build": "cast"},
            "finish": {"A-colour": "R9005-S", "A-gloss": "satin"},
            "you": contact,
        }
        self.send(**answers.get(before, {}))
        return self.step != before


def signed_in(load: Load) -> tuple[Browser, str]:
    """A phone on the floor whose owner has signed in, and the token of its forms."""
    browser = Browser(list(load.ports))
    page = browser.get("/counter/sign-in")
    browser.submit(page, login=FLOOR.login, password=FLOOR.password)
    return browser, _token(browser.get("/counter/floor"))


def scanner(load: Load, seed: int, tags: Sequence[str], phone: tuple[Browser, str]) -> None:
    """A phone that scans its tags at station after station, and looks at the floor."""
    chance, (browser, token) = random.Random(seed), phone
    turns = itertools.cycle((tag, station) for station in STATIONS for tag in tags)
    seen = itertools.count(chance.randrange(4))

    def step() -> None:
        tag, station = next(turns)
        sent = {"csrf_token": token, "where": f"floor:{station}", "q": tag}
        load.timed("scans", lambda: browser.post("/counter/scan", sent), (303,))
        if next(seen) % 4 == 0:
            load.timed("floor pages", lambda: browser.get(f"/counter/floor?at={station}"), (200,))

    load.every_second(step)


def _token(page: Answer) -> str:
    found = TOKEN.search(page.get_data())
    assert found, "nobody is signed in"
    return found[1]


def run(load: Load, customers: int, scanners: int, tags: Sequence[str], seconds: float) -> None:
    """Let all of them work for so many seconds."""
    for what in ("customers read", "customers send", "scans", "floor pages"):
        load.figures[what] = Figures()
    # one after the other: guesses at once from one place would have to wait
    phones = [signed_in(load) for _ in range(scanners)]
    load.end = time.monotonic() + seconds
    walkers = min(WALKERS, customers // 5)
    works = [threading.Thread(target=walker, args=(load, n)) for n in range(walkers)]
    works += [threading.Thread(target=reader, args=(load, n)) for n in range(customers - walkers)]
    shares = [tags[n::scanners] for n in range(scanners)]
    works += [
        threading.Thread(target=scanner, args=(load, n, share, phone))
        for n, (share, phone) in enumerate(zip(shares, phones, strict=True))
    ]
    for one in works:
        one.start()
    for one in works:
        one.join()
