"""What clients pressed and what they were answered: the book that the database is held against."""

import threading
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

VERBS = ("book", "receive", "tag", "scan", "pay")


@dataclass
class Press:
    """One press of a button: what it does, on which thing, and whether it was acknowledged.

    `kind` is book, receive, tag, scan or pay; `key` what it is found by in the database; `minor`
    a payment's sum. `tries` counts how often it was sent.
    """

    kind: str
    key: str
    about: str = ""
    minor: int = 0
    acknowledged: bool = False
    tries: int = 0
    refused: str = ""


@dataclass
class Pressed:
    """The presses of all clients; answers that were lost, and 503s, by the client's name."""

    all: list[Press] = field(default_factory=list)
    lost_answers: Counter[str] = field(default_factory=Counter)
    unavailable: Counter[str] = field(default_factory=Counter)
    broken: list[str] = field(default_factory=list)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def new(self, press: Press) -> Press:
        with self._lock:
            self.all.append(press)
        return press

    def of(self, kind: str) -> Iterator[Press]:
        return (one for one in self.all if one.kind == kind)

    def done(self) -> Counter[str]:
        """Return how many presses of each kind were acknowledged."""
        return Counter(one.kind for one in list(self.all) if one.acknowledged)

    def count(self, kind: str) -> str:
        """Return what became of the presses of a kind, in a few words."""
        found = list(self.of(kind))
        done = sum(one.acknowledged for one in found)
        return f"{done}/{len(found)}"
