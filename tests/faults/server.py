"""The portal as it runs in earnest, started and killed by the tests."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from tests.cli.free_port import free_port
from tests.conftest import HOUSE

STEPPED = Path(__file__).with_name("stepped")
LONGEST_START_S = 120
LOOK_EVERY_S = 0.1
PATIENCE_S = 30  # a busy machine queues the question behind its pages
SERVER, MAIL, MASTER, ALL = "server process", "mail worker", "manager", "everything"


@dataclass
class Portal:
    """A portal over `database_url` with `workers` processes and a mail worker.

    `planted` names a fault that `stepped/sitecustomize.py` plants in its processes.
    """

    database_url: str
    folder: Path
    smtp_url: str = ""
    planted: str = ""
    workers: int = 2
    port: int = field(default_factory=free_port)
    process: "subprocess.Popen[bytes] | None" = None
    kills: dict[str, int] = field(default_factory=dict)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def log(self) -> Path:
        return self.folder / "log"

    @property
    def clock(self) -> Path:
        """The file that tells its processes by how many seconds their clock is wrong."""
        return self.folder / "clock"

    def start(self) -> None:
        """Start it, again where the port is not free yet, and wait until it answers."""
        for _ in range(int(LONGEST_START_S / LOOK_EVERY_S)):
            ended = self.process is None or self.process.poll() is not None
            if ended and is_free(self.port):
                self.process = self._begin()
            if answers(f"{self.url}/healthz") and self.pids(SERVER):
                return  # itself, and not what is left of one whose manager was killed
            time.sleep(LOOK_EVERY_S)
        end = self.log.read_text("utf-8", "replace")[-1500:]
        msg = f"the portal did not start; its processes: {self.pids(ALL)}; its log ends: {end}"
        raise RuntimeError(msg)

    def stop(self) -> None:
        """End it as a service manager does."""
        if self.process is not None:
            with suppress(ProcessLookupError):
                self.process.terminate()
            with suppress(subprocess.TimeoutExpired):
                self.process.wait(30)
            with suppress(ProcessLookupError):
                os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait(10)

    def kill(self, whom: str) -> bool:
        """Kill one of its processes, or all; whether there was somebody to kill."""
        pids = self.pids(whom)
        for pid in pids:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        if whom in (MASTER, ALL) and self.process is not None:
            self.process.wait(10)
        if pids:
            self.kills[whom] = self.kills.get(whom, 0) + 1
        return bool(pids)

    def pids(self, whom: str) -> list[int]:
        """Return its processes of a kind: one process of the server, or all that there are."""
        if self.process is None or self.process.poll() is not None:
            return []
        master = self.process.pid
        below = children(master)
        mail = [pid for pid in below if b"deliver" in command(pid)]
        servers = [pid for pid in below if pid not in mail]
        return {MASTER: [master], MAIL: mail, SERVER: servers[:1], ALL: [master, *below]}[whom]

    def _begin(self) -> "subprocess.Popen[bytes]":
        left_out = ("PORTAL_", "DATABASE", "PYTHONDONTWRITE")
        kept = {k: v for k, v in os.environ.items() if not k.startswith(left_out)}
        wrong = {"FAULTS_CLOCK": str(self.clock), "FAULTS_PLANTED": self.planted}
        environ = {
            "PORT": str(self.port),
            "PORTAL_DATA": str(self.folder),
            "DATABASE_URL": self.database_url,
            "PORTAL_URL": self.url,
            "PORTAL_SECRET": "only for tests, and long enough for it",
            "PORTAL_PROXIES": "1",
            "PYTHONPATH": os.pathsep.join([str(STEPPED), str(HOUSE)]),
        }
        if self.smtp_url:
            environ["PORTAL_SMTP"] = self.smtp_url
        with self.log.open("ab") as log:
            return subprocess.Popen(
                [sys.executable, "-m", "portal", "serve", "--workers", str(self.workers)],
                env=kept | environ | wrong,
                cwd=HOUSE,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )


def is_free(port: int) -> bool:
    """Whether nobody listens: a server whose manager was killed has the port for a while."""
    try:
        socket.create_server(("127.0.0.1", port)).close()
    except OSError:
        return False
    return True


def answers(url: str) -> bool:
    """Whether an address answers 200."""
    with (
        suppress(urllib.error.URLError, OSError),
        urllib.request.urlopen(url, timeout=PATIENCE_S) as got,
    ):
        return bool(got.status == 200)
    return False


def children(pid: int) -> list[int]:
    with suppress(FileNotFoundError, ProcessLookupError):
        return [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    return []


def command(pid: int) -> bytes:
    with suppress(FileNotFoundError, ProcessLookupError):
        return Path(f"/proc/{pid}/cmdline").read_bytes()
    return b""


def wait_for(holds: Callable[[], object], seconds: float = LONGEST_START_S) -> bool:
    """Wait until something holds; whether it did in time.

    Looks are counted, not time: a machine that stood still for a while has done nothing meanwhile.
    """
    for _ in range(int(seconds / LOOK_EVERY_S)):
        if holds():
            return True
        time.sleep(LOOK_EVERY_S)
    return False
