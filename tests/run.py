"""What the processes of one run make once for all of them: models, scenes, compiled templates.

It lies in a folder of the run's own, in memory where there is enough of it. The first process of
a run makes the folder and throws it away; those that it starts find it by the environment.
"""

import atexit
import fcntl
import os
import shutil
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path

from tests.postgres import room

VARIABLE = "TEST_RUN_FOLDER"


def begin() -> None:
    """Make the folder of a new run; a process that shares the tests of one takes its folder."""
    if "PYTEST_XDIST_WORKER" not in os.environ:
        os.environ.pop(VARIABLE, None)
    folder()


def folder() -> Path:
    """Return the folder of the run."""
    if VARIABLE not in os.environ:
        os.environ[VARIABLE] = tempfile.mkdtemp(prefix="portal-run-", dir=room())
        atexit.register(partial(_remove, os.environ[VARIABLE], os.getpid()))
    return Path(os.environ[VARIABLE])


def made(name: str, make: Callable[[Path], None]) -> Path:
    """Return the file of that name; the first process that asks makes it, the others wait."""
    path = folder() / name
    with path.with_name(f"{name}.lock").open("a") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not path.exists():
            part = path.with_name(f"{name}.part")
            make(part)
            part.replace(path)
    return path


def read(name: str) -> bytes | None:
    """Return what a process has put under that name, if any has."""
    try:
        return (folder() / name).read_bytes()
    except FileNotFoundError:
        return None


def put(name: str, content: bytes) -> None:
    """Put something under a name, whole or not at all; who comes second changes nothing."""
    path = folder() / name
    part = path.with_name(f"{name}.{os.getpid()}")
    part.write_bytes(content)
    part.replace(path)


def _remove(path: str, maker: int) -> None:
    if os.getpid() == maker:  # and not what it forked
        shutil.rmtree(path, ignore_errors=True)
