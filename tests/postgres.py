"""A real PostgreSQL for the tests: a private cluster in a temporary folder, thrown away at the end.

PostgreSQL refuses to run as root, so root starts it as the `postgres` user.
"""

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path


def room() -> str:
    """The folder for what lives as long as a test: in memory where there is enough of it.

    A database is two hundred files; making one takes a tenth of the time there.
    """
    memory = Path("/dev/shm")
    roomy = memory.is_dir() and os.access(memory, os.W_OK)
    return str(memory) if roomy and shutil.disk_usage(memory).free > 2e9 else tempfile.gettempdir()


def _bin(name: str) -> str:
    found = shutil.which(name)
    if found and Path(found).resolve().name == name:
        return found
    places = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    if not places:
        msg = f"{name} is missing; `make test` installs the package `postgresql`"
        raise RuntimeError(msg)
    return str(places[-1])


def _as_postgres(command: list[str]) -> list[str]:
    return ["runuser", "-u", "postgres", "--", *command] if os.geteuid() == 0 else command


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


FAST = ("synchronous_commit=off",)  # a crash may lose what was acknowledged
SAFE = ("synchronous_commit=on",)  # a crash of the server, not of the machine, loses nothing

# waits for its disk, as in earnest, and takes as many connections as several machines have
DURABLE = ("fsync=on", "full_page_writes=on", "synchronous_commit=on", "max_connections=150")


@dataclass
class Cluster:
    """A cluster in a folder of its own, which can be killed and started again."""

    home: Path
    options: tuple[str, ...] = FAST
    port: int = field(default_factory=_free_port)

    @property
    def data(self) -> Path:
        return self.home / "data"

    @property
    def url(self) -> str:
        return f"postgresql+psycopg://portal@127.0.0.1:{self.port}/postgres"

    @property
    def pid(self) -> int:
        """Its first process."""
        return int((self.data / "postmaster.pid").read_text("ascii").split()[0])

    def make(self) -> None:
        if os.geteuid() == 0:
            shutil.chown(self.home, "postgres")
        initdb = [_bin("initdb"), "-D", str(self.data), "-U", "portal", "-A", "trust"]
        _run([*initdb, "-E", "UTF8", "--locale=C", "--no-sync"])

    def start(self) -> None:
        more = ("listen_addresses=127.0.0.1", "fsync=off", "full_page_writes=off")
        set_to = " ".join(f"-c {one}" for one in (*more, "max_connections=60", *self.options))
        options = f"-p {self.port} -k {self.home} {set_to}"
        log = ["-l", str(self.home / "log"), "-o", options]
        start = [_bin("pg_ctl"), "-D", str(self.data), "-w", *log, "start"]
        for _ in range(20):  # what is left of a killed one may still hold its memory
            with suppress(subprocess.CalledProcessError):
                _run(start)
                return
            time.sleep(0.5)
        _run(start)

    def stop(self) -> None:
        stop = [_bin("pg_ctl"), "-D", str(self.data), "-w", "-m", "immediate", "stop"]
        _run(stop, check=False)

    def kill(self) -> None:
        """Kill all its processes at once, as the machine does that runs out of memory."""
        first = self.pid
        below = Path(f"/proc/{first}/task/{first}/children").read_text("ascii").split()
        for pid in (first, *map(int, below)):
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        while any(Path(f"/proc/{pid}/exe").exists() for pid in (first, *below)):
            time.sleep(0.02)


@contextmanager
def cluster() -> Iterator[str]:
    """Start a cluster and yield its URL (database `postgres`)."""
    with running_cluster() as found:
        yield found.url


@contextmanager
def running_cluster(
    options: tuple[str, ...] = FAST, within: Path | None = None
) -> Iterator[Cluster]:
    """Start a cluster in a folder of its own, and throw it away at the end."""
    home = Path(tempfile.mkdtemp(prefix="portal-pg-", dir=within or room()))
    found = Cluster(home, options)
    try:
        found.make()
        found.start()
        yield found
    finally:
        found.stop()
        time.sleep(0.05)
        shutil.rmtree(home, ignore_errors=True)


def _run(command: list[str], *, check: bool = True) -> None:
    # the server inherits our pipes: nothing may wait for their end, so nothing is captured
    quiet = subprocess.DEVNULL
    subprocess.run(
        _as_postgres(command), check=check, cwd="/tmp", timeout=60, stdout=quiet, stderr=quiet
    )
