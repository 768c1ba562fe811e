"""A real PostgreSQL for the tests: a private cluster in a temporary folder, thrown away at the end.

PostgreSQL refuses to run as root, so root starts it as the `postgres` user.
"""

import os
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


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


@contextmanager
def cluster() -> Iterator[str]:
    """Start a cluster and yield its URL (database `postgres`)."""
    home = Path(tempfile.mkdtemp(prefix="portal-pg-", dir="/tmp"))
    if os.geteuid() == 0:
        shutil.chown(home, "postgres")
    data, port = home / "data", _free_port()
    run = {"check": True, "capture_output": True, "cwd": "/tmp", "timeout": 60}
    subprocess.run(
        _as_postgres(
            [_bin("initdb"), "-D", str(data), "-U", "portal", "-A", "trust", "-E", "UTF8",
             "--locale=C", "--no-sync"]
        ),
        **run,
    )
    options = (
        f"-p {port} -k {home} -c listen_addresses=127.0.0.1 -c fsync=off "
        "-c synchronous_commit=off -c full_page_writes=off -c max_connections=60"
    )
    start = [_bin("pg_ctl"), "-D", str(data), "-w", "-l", str(home / "log"), "-o", options, "start"]
    subprocess.run(_as_postgres(start), **{**run, "capture_output": False, "stdout": subprocess.DEVNULL})
    try:
        yield f"postgresql+psycopg://portal@127.0.0.1:{port}/postgres"
    finally:
        subprocess.run(
            _as_postgres([_bin("pg_ctl"), "-D", str(data), "-m", "immediate", "stop"]),
            **{**run, "check": False},
        )
        time.sleep(0.05)
        shutil.rmtree(home, ignore_errors=True)
