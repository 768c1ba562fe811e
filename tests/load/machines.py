"""Servers under load, each as it runs in earnest: a folder, a port and processes of its own."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

from tests.cli.free_port import free_port
from tests.conftest import HOUSE

SECRET = "the same secret on every machine of a test"


def family_of(pid: int) -> list[int]:
    """Return a process with all that it began."""
    below = [pid]
    for one in below:
        with suppress(FileNotFoundError, ProcessLookupError):
            children = Path(f"/proc/{one}/task/{one}/children").read_text("ascii")
            below.extend(map(int, children.split()))
    return below


def cpu_seconds(pid: int) -> float:
    """Return what a process and all below it have used, those that ended included."""
    ticks = 0
    for one in family_of(pid):
        with suppress(FileNotFoundError, ProcessLookupError):
            after_name = Path(f"/proc/{one}/stat").read_text("utf-8").rpartition(")")[2].split()
            ticks += sum(map(int, after_name[11:15]))  # utime, stime, cutime, cstime
    return ticks / os.sysconf("SC_CLK_TCK")


@dataclass
class Machine:
    """A server with its two processes and its mail worker."""

    port: int
    process: subprocess.Popen[bytes]

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def family(self) -> list[int]:
        """All processes of it."""
        return family_of(self.process.pid)

    def mail_worker(self) -> int | None:
        for pid in self.family():
            with suppress(FileNotFoundError, ProcessLookupError):
                if b"deliver" in Path(f"/proc/{pid}/cmdline").read_bytes():
                    return pid
        return None

    def kill(self) -> None:
        """Let the whole machine end at once, as when its current fails."""
        for pid in self.family():
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        self.process.wait(30)

    def memory_mb(self) -> float:
        """The memory that it takes, what is shared divided by its sharers."""
        kb = 0
        for pid in self.family():
            with suppress(FileNotFoundError, ProcessLookupError):
                text = Path(f"/proc/{pid}/smaps_rollup").read_text("ascii")
                kb += int(text.partition("Pss:")[2].split()[0])
        return kb / 1024


@contextmanager
def machine(
    folder: Path, url: str, *, verb: str = "serve", workers: int = 2, **environ: str
) -> Iterator[Machine]:
    """Run a server over the database at `url` ("": an embedded one), in a folder of its own."""
    count = [] if workers == 2 else ["--workers", str(workers)]
    port = free_port()
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PORTAL_", "DATABASE"))}
    wanted = {
        "DATABASE_URL": url,
        "PORT": str(port),
        "PORTAL_DATA": str(folder),
        "PORTAL_SECRET": SECRET,
        "PORTAL_URL": "http://127.0.0.1:8000",
        "LANG": "C",
    }
    process = subprocess.Popen(
        [sys.executable, "-m", "portal", verb, *count],
        env=kept | wanted | environ,
        cwd=HOUSE,
        stderr=None if os.environ.get("TELL") else subprocess.DEVNULL,
    )
    made = Machine(port, process)
    try:
        _wait_for(made)
        yield made
    finally:
        process.terminate()
        try:
            process.wait(30)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait(30)


def _wait_for(made: Machine) -> None:
    for _ in range(9000):
        if made.process.poll() is not None:
            msg = "the server ended before it was ready"
            raise RuntimeError(msg)
        with suppress(URLError, OSError), urlopen(f"{made.url}/healthz", timeout=2) as answer:
            if answer.status == 200:
                return
        time.sleep(0.1)
    raise AssertionError(made.url)
