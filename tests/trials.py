"""One pass of the tests that learns which of them reach what, then a fork for each mutant.

Runs in the copy that `tests.mutants` makes, where each function stands beside its mutants and asks
mutmut which of them to be: `python -m tests.trials FILE FOLDER…`. FILE has the names of the
mutants as JSON and gets what stopped each ("tests", "time", "a crash", or "" for nothing).

A fork forgets what any function remembers of earlier calls, so that a mutant is really called. What
runs while modules are imported is tried in a process of its own, if the fork let it pass.
"""

import functools
import gc
import json
import os
import resource
import signal
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Iterable
from itertools import zip_longest
from pathlib import Path

import pytest
from hypothesis import Phase, settings
from mutmut.mutation import trampoline

# a mutant may take so many times what its tests took, and some seconds besides
TIMES, MORE_S = 5, 20
PLAIN = ("-q", "-x", "--capture=sys", "--hypothesis-seed=0")
OURS = ("portal", "tests")
FAILED = 1


class Trials:
    """The run of a session: learns, then tries every mutant; `found` says what stopped it."""

    def __init__(self, names: list[str], note: Path) -> None:
        self.names = names
        self.note = note  # where a fork says which test failed
        self.failing: set[str] = set()
        self.found: dict[str, str] = {}
        self.reached: dict[str, list[pytest.Item]] = defaultdict(list)
        self.seconds: dict[pytest.Item, float] = {}
        self.at_import: set[str] = set()
        self.failed = False
        self.is_fork = False
        self.active = "stats"
        self.hits: set[str] = set()
        # what every call of every function asks must be quick
        trampoline.get_mutant_under_test = lambda: self.active
        trampoline.record_trampoline_hit = self._hit

    def _hit(self, name: str, caller: str | None = None) -> None:
        """Note that a function was reached; the trampoline names its arguments."""
        self.hits.add(name)

    @pytest.hookimpl(tryfirst=True)
    def pytest_collection(self) -> None:
        """See to it that a property that fails is not looked at any further."""
        phases = (Phase.explicit, Phase.generate)
        settings.register_profile("trials", settings.default, phases=phases, database=None)
        settings.load_profile("trials")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Note a failure; in a fork it is all that matters."""
        if report.failed and self.is_fork:
            self.note.write_text(report.nodeid, "utf-8")
            os._exit(FAILED)
        if report.failed:
            self.failed = True
            print(report.longreprtext, file=sys.stderr)

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Take the place of pytest's own loop."""
        if session.testsfailed or self._fails(session.items):
            return True
        memories = [one for one in gc.get_objects() if _remembers(one)]
        gc.collect()
        gc.freeze()
        for name in self.names:
            self.found[name] = self._tried(name, memories)
            print(f"{_spent():.0f} s {self.found[name]:8} {name}", flush=True)
        # what failed with a mutant fails at nothing without one, or else no verdict counts
        killers = [item for item in session.items if item.nodeid in self.failing]
        self.failed = bool(self._forked("", killers, memories))
        return True

    def _tried(self, name: str, memories: list[object]) -> str:
        """Return what stopped a mutant, "" for nothing."""
        items = self.reached[_function(name)]
        found = self._forked(name, items, memories) if items else ""
        return self._alone(name) if not found and _function(name) in self.at_import else found

    def _fails(self, items: list[pytest.Item]) -> bool:
        """Run the tests as they are, and note which functions each reached and what it took."""
        self.at_import = set(self.hits)
        for item, following in zip_longest(items, items[1:]):
            self.hits.clear()
            began = time.process_time()
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            self.seconds[item] = time.process_time() - began
            for function in self.hits:
                self.reached[function].append(item)
        return self.failed

    def _limit(self, items: Iterable[pytest.Item]) -> int:
        return round(sum(self.seconds[item] for item in items) * TIMES) + MORE_S

    def _forked(self, name: str, items: list[pytest.Item], memories: list[object]) -> str:
        child = os.fork()
        if not child:
            self.is_fork, self.active = True, name
            self.note.write_text("", "utf-8")
            _allow(self._limit(items) + round(time.process_time()))
            try:
                _run(sorted(items, key=self.seconds.__getitem__), memories)
            finally:
                os._exit(FAILED)
        code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        if code == FAILED:
            self.failing.add(self.note.read_text("utf-8"))
        return _told(code)

    def _alone(self, name: str) -> str:
        """Try a mutant from the first import on, with the files that reach its module."""
        module = _function(name).rpartition(".")[0] + "."
        items = {one for key, own in self.reached.items() if key.startswith(module) for one in own}
        files = [str(one.path) for one in sorted(items, key=self.seconds.__getitem__)]
        if not files:
            return ""
        limit = self._limit(self.seconds)
        done = subprocess.run(
            [sys.executable, "-m", "pytest", *PLAIN, *dict.fromkeys(files)],
            env={**os.environ, "MUTANT_UNDER_TEST": name},
            preexec_fn=lambda: _allow(limit),
            capture_output=True,
            check=False,
        )
        return _told(done.returncode)


def _spent() -> float:
    """Return the seconds of the processor that this process and its children took so far."""
    own = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in own)


def _allow(seconds: int) -> None:
    """Let this process have so much of the processor, and end it then."""
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))


def _run(items: list[pytest.Item], memories: list[object]) -> None:
    """Run tests in a fork, which ends with the first that fails."""
    for one in memories:
        one.cache_clear()  # type: ignore[attr-defined]  # a memory has it
    for item, following in zip_longest(items, items[1:]):
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
    os._exit(0)


def _remembers(one: object) -> bool:
    owner = getattr(one, "__module__", None) if isinstance(one, functools._lru_cache_wrapper) else 0
    return owner is None or (isinstance(owner, str) and owner.startswith(OURS))


def _function(name: str) -> str:
    return name.rpartition("__mutmut_")[0]


def _told(code: int) -> str:
    """Return what an exit code says: a test failed, time was up, or the process died."""
    if code in (-signal.SIGXCPU, -signal.SIGKILL):
        return "time"
    return ("a crash" if code < 0 else "tests") if code else ""


def main() -> int:
    """Try the mutants that a file names, and write into it what stopped them."""
    file = Path(sys.argv[1])
    trials = Trials(json.loads(file.read_text("utf-8")), file.with_suffix(".failed"))
    code = pytest.main([*PLAIN, "-p", "no:randomly", *sys.argv[2:]], plugins=[trials])
    file.write_text(json.dumps(trials.found), "utf-8")
    return int(trials.failed or len(trials.found) < len(trials.names) or code not in (0, 1, 5))


if __name__ == "__main__":
    sys.exit(main())
