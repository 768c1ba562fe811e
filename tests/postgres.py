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


# a test's database is thrown away: nothing waits for a disk
QUICK = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off"


@contextmanager
def cluster(*, durable: bool = False) -> Iterator[str]:
    """Start a cluster and yield its URL (database `postgres`).

    A `durable` one lies on the disk and waits for it, as in earnest.
    """
    place = tempfile.gettempdir() if durable else room()
    home = Path(tempfile.mkdtemp(prefix="portal-pg-", dir=place))
    if os.geteuid() == 0:
        shutil.chown(home, "postgres")
    data, port = home / "data", _free_port()
    initdb = [_bin("initdb"), "-D", str(data), "-U", "portal", "-A", "trust"]
    _run([*initdb, "-E", "UTF8", "--locale=C", "--no-sync"])
    options = (
        f"-p {port} -k {home} -c listen_addresses=127.0.0.1 {'' if durable else QUICK} "
        "-c max_connections=150"
    )
    control = [_bin("pg_ctl"), "-D", str(data), "-w"]
    _run([*control, "-l", str(home / "log"), "-o", options, "start"])
    try:
        yield f"postgresql+psycopg://portal@127.0.0.1:{port}/postgres"
    finally:
        _run([*control, "-m", "immediate", "stop"], check=False)
        time.sleep(0.05)
        shutil.rmtree(home, ignore_errors=True)


def _run(command: list[str], *, check: bool = True) -> None:
    # the server inherits our pipes: nothing may wait for their end, so nothing is captured
    quiet = subprocess.DEVNULL
    subprocess.run(
        _as_postgres(command), check=check, cwd="/tmp", timeout=60, stdout=quiet, stderr=quiet
    )
