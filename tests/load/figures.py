"""How long answers took, and which were none."""

import threading
from collections import Counter
from dataclasses import dataclass, field
from statistics import quantiles


@dataclass
class Figures:
    """Times of answers in seconds; what went wrong, by name."""

    times: list[float] = field(default_factory=list)
    wrong: Counter[str] = field(default_factory=Counter)
    _turn: threading.Lock = field(default_factory=threading.Lock)

    def add(self, seconds: float, *, wrong: str = "") -> None:
        with self._turn:
            self.times.append(seconds)
            if wrong:
                self.wrong[wrong] += 1

    def share(self, percent: int) -> float:
        """Return the time within which so many percent were answered, in ms."""
        if len(self.times) < 2:
            return 0.0
        return round(1000 * quantiles(self.times, n=100)[percent - 1], 1)

    def told(self) -> dict[str, object]:
        return {
            "answers": len(self.times),
            "wrong": dict(self.wrong),
            "p50_ms": self.share(50),
            "p95_ms": self.share(95),
            "p99_ms": self.share(99),
            "longest_ms": round(1000 * max(self.times, default=0), 1),
        }
