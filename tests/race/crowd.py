"""Many at once: each in a thread of its own, with its own unit, all let go at the same moment."""

import contextlib
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from tests.conftest import Clock, unit_at


@dataclass
class Outcome:
    answers: list[Any] = field(default_factory=list)
    errors: list[BaseException] = field(default_factory=list)

    def kinds(self) -> set[str]:
        return {type(error).__name__ for error in self.errors}


class Crowd:
    """`run(work)` lets `size` threads do `work(unit, n, together)`; `together()` waits for all.

    `together` gives up after a moment, because a guard that makes the others wait outside must
    not hang the test.
    """

    def __init__(self, url: str, size: int, *, patience: float = 0.4) -> None:
        self.url, self.size, self.patience = url, size, patience

    def run(self, work: Callable[[Any, int, Callable[[], None]], Any]) -> Outcome:
        outcome, start = Outcome(), threading.Barrier(self.size)
        middle = threading.Barrier(self.size)

        def together() -> None:
            with contextlib.suppress(threading.BrokenBarrierError):
                middle.wait(self.patience)

        def one(n: int) -> None:
            unit = unit_at(self.url, Clock(), seed=100 + n)
            try:
                start.wait(10)
                outcome.answers.append(work(unit, n, together))
            except BaseException as error:  # the test looks at every one
                outcome.errors.append(error)
            finally:
                unit.close()

        threads = [threading.Thread(target=one, args=(n,)) for n in range(self.size)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return outcome
