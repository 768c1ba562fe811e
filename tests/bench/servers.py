"""Servers under measurement: the portal and a bare floor, each started as it runs in earnest."""

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]
SECONDS = 4
CLIENTS = 32
PATIENCE_S = 120  # others may have the machine


@dataclass(frozen=True)
class Load:
    """What a load of some seconds showed; times in ms, `cpu_ms` the servers' own for a request."""

    per_second: float
    p50: float
    p99: float
    errors: int
    cpu_ms: float


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def portal(data: Path, database_url: str) -> Iterator[tuple[str, int]]:
    """Yield the address of a running portal and its process number."""
    port = free_port()
    environ = os.environ | {
        "PORT": str(port),
        "PORTAL_DATA": str(data),
        "DATABASE_URL": database_url,
        "PORTAL_URL": f"http://127.0.0.1:{port}",
    }
    yield from _running([sys.executable, "-m", "portal", "serve"], environ, port, "/healthz")


@contextmanager
def floor(database: Path, size: int) -> Iterator[tuple[str, int]]:
    """Yield the address of the bare floor: one indexed SELECT and a template of `size` bytes."""
    port = free_port()
    environ = os.environ | {"FLOOR_DATABASE": str(database), "FLOOR_SIZE": str(size)}
    command = [
        sys.executable, "-m", "gunicorn", "-b", f"127.0.0.1:{port}", "-w", "2", "-k", "gthread",
        "--threads", "2", "--reuse-port", "--log-level", "warning", "tests.bench.floor_app:app",
    ]  # fmt: skip
    yield from _running(command, environ, port, "/healthz")


def _running(
    command: list[str], environ: dict[str, str], port: int, ready: str
) -> Iterator[tuple[str, int]]:
    process = subprocess.Popen(command, env=environ, cwd=HOUSE)
    url = f"http://127.0.0.1:{port}"
    try:
        _wait(url + ready, process)
        yield url, process.pid
    finally:
        process.terminate()
        process.wait(PATIENCE_S)


def _wait(url: str, process: subprocess.Popen[bytes]) -> None:
    for _ in range(10 * PATIENCE_S):
        if process.poll() is not None:
            msg = "the server ended before it was ready"
            raise RuntimeError(msg)
        try:
            urllib.request.urlopen(url, timeout=5).read()
        except (urllib.error.URLError, OSError):
            time.sleep(0.1)
        else:
            return
    msg = f"{url} did not answer within {PATIENCE_S} seconds"
    raise RuntimeError(msg)


def load(url: str, pid: int) -> Load:
    """Ask for one address with 32 clients for some seconds (by the load tool wrk)."""
    tool = shutil.which("wrk")
    assert tool, "wrk is missing; `make bench` installs it"
    before = _cpu_ms(pid)
    done = subprocess.run(
        [tool, "-t1", f"-c{CLIENTS}", f"-d{SECONDS}s", "--timeout", "60s", "--latency", url],
        capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    wrong = re.search(r"Non-2xx or 3xx responses: (\d+)", done)
    return Load(
        per_second=float(re.search(r"Requests/sec:\s+([\d.]+)", done).group(1)),
        p50=_ms(done, "50%"),
        p99=_ms(done, "99%"),
        errors=int(wrong.group(1)) if wrong else 0,
        cpu_ms=(_cpu_ms(pid) - before)
        / max(1, int(re.search(r"(\d+) requests in", done).group(1))),
    )


def _ms(text: str, share: str) -> float:
    number, unit = re.search(rf"{share}\s+([\d.]+)(us|ms|s)\b", text).groups()
    return float(number) * {"us": 0.001, "ms": 1.0, "s": 1000.0}[unit]


def _cpu_ms(pid: int) -> float:
    """Return the time of the processor that a server's processes have had, without the worker."""
    ticks = 0
    for one in [pid, *_children(pid)]:
        home = Path(f"/proc/{one}")
        if b"deliver" not in (home / "cmdline").read_bytes():
            # user and system time stand 12 and 13 places behind the name, which ends with ")"
            told = (home / "stat").read_text(encoding="ascii").rpartition(")")[2].split()
            ticks += int(told[11]) + int(told[12])
    return 1000 * ticks / os.sysconf("SC_CLK_TCK")


def memory_mb(pid: int) -> list[float]:
    """Proportional memory of a process and each of its children, in MiB."""
    family = [pid, *_children(pid)]
    found = []
    for one in family:
        text = Path(f"/proc/{one}/smaps_rollup").read_text(encoding="ascii")
        found.append(int(re.search(r"^Pss:\s+(\d+) kB", text, re.M).group(1)) / 1024)
    return found


def _children(pid: int) -> list[int]:
    text = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii")
    direct = [int(word) for word in text.split()]
    return direct + [grand for child in direct for grand in _children(child)]
