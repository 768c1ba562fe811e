"""README's "In earnest", run as it stands: from an empty folder to the first booking."""

import os
import re
import signal
import subprocess
import time
from contextlib import suppress
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import pytest

from portal.settings import read_settings
from portal.web.kit.http import clock
from tests.cli.free_port import free_port
from tests.conftest import HOUSE, an_app
from tests.page import checked_client
from tests.web.walk import Customer

PASSWORD = "a long word for the first day"


class Visitor(Customer):
    """A customer who walks anew each time: nothing is taken from a scene."""

    def _play(self, what, walk) -> None:
        walk()


@pytest.fixture
def env(tmp_path: Path) -> dict[str, str]:
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PORTAL_", "DATABASE"))}
    return kept | {"PORTAL_DATA": str(tmp_path / "data"), "PORT": str(free_port()), "LANG": "C"}


def commands() -> list[str]:
    text = (HOUSE / "README.md").read_text("utf-8").partition("## In earnest")[2]
    block = re.search(r"```\n(.*?)```", text, re.S)
    assert block
    return [line.partition("  #")[0].strip() for line in block[1].splitlines()]


def run(command: str, folder: Path, env: dict[str, str]) -> subprocess.CompletedProcess[str]:
    """Run a line of the README: its own files lie in `folder`, the house stays as it is."""
    here = re.sub(r"\bmy_(?=shop|powders)", f"{folder}/my_", command)
    return subprocess.run(
        ["bash", "-c", here],
        env=env,
        cwd=HOUSE,
        input=f"{PASSWORD}\n{PASSWORD}\n",
        capture_output=True,
        text=True,
        start_new_session=True,  # without a terminal the password is read from the input
        check=False,
    )


def test_from_an_empty_folder_to_the_first_booking(tmp_path: Path, env) -> None:
    *first, serve = commands()
    assert len(first) == 4
    early = run(serve, tmp_path, env)
    assert early.returncode
    assert "No shop was read yet" in early.stderr
    for command in first:
        done = run(command, tmp_path, env)
        assert done.returncode == 0, done.stderr
    server = subprocess.Popen(
        ["bash", "-c", f"exec {serve}"], env=env, cwd=HOUSE, stderr=subprocess.DEVNULL
    )
    try:
        base = f"http://127.0.0.1:{env['PORT']}"
        _wait_for(f"{base}/readyz")
        with an_app(read_settings(env), clock) as app:
            booked = Visitor(checked_client(app)).walk_to("read-back").book()
            link = booked.headers["Location"].partition("?")[0]
        with urlopen(base + link.removeprefix(base)) as answer:
            assert answer.status == 200
        _wait_for(f"{base}/readyz", says="mail worker: at work")
        killed = _mail_worker_of(server)
        assert killed
        os.kill(killed, signal.SIGKILL)
        while _mail_worker_of(server) in (None, killed):
            time.sleep(0.2)
    finally:
        server.terminate()
        server.wait(30)


def test_a_shop_file_never_changes_what_is_in_force_unasked(tmp_path: Path, env) -> None:
    copy, migrate, read, _person, _serve = commands()
    for command in (copy, migrate, read):
        assert run(command, tmp_path, env).returncode == 0
    file = tmp_path / "my_shop.toml"
    text = file.read_text("utf-8")
    assert run(read, tmp_path, env).returncode == 0, "the same file changes nothing"
    file.write_text(text.replace("promise_percent = 95", "promise_percent = 90"), "utf-8")
    refused = run(read, tmp_path, env)
    assert refused.returncode == 2
    assert "promise_percent: 95 → 90" in refused.stderr
    assert run(f"{read} --yes", tmp_path, env).returncode == 0
    assert run(read, tmp_path, env).returncode == 0
    bare = run(".venv/bin/python -m portal shop", tmp_path, env)
    assert bare.returncode == 2
    assert "required" in bare.stderr


def _mail_worker_of(server: subprocess.Popen[bytes]) -> int | None:
    """Return the process that sends letters, among all that the server has begun."""
    below = [server.pid]
    for pid in below:
        with suppress(FileNotFoundError, ProcessLookupError):
            if b"deliver" in Path(f"/proc/{pid}/cmdline").read_bytes():
                return pid
            children = Path(f"/proc/{pid}/task/{pid}/children").read_text("ascii")
            below.extend(map(int, children.split()))
    return None


def _wait_for(url: str, *, says: str = "ready") -> None:
    for _ in range(600):
        with suppress(URLError), urlopen(url) as answer:
            assert answer.status == 200
            if says in answer.read().decode():
                return
        time.sleep(0.2)
    raise AssertionError(url)
