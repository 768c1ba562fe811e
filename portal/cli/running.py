"""`serve` and `demo`: the verbs that run until they are stopped."""

import argparse
import gc
import logging
import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from gunicorn.app.base import BaseApplication
from gunicorn.arbiter import Arbiter

from portal.cli.buffering import BufferingWorker
from portal.cli.demo import prepare, where_to_look
from portal.cli.opening import bring_up, opened, reader_of
from portal.cli.parsing import Parser
from portal.craft.messages import CraftError, Message
from portal.orders.access.shared_secret import share_secret
from portal.settings import BadSetting, Settings, read_settings
from portal.web.app import create_app
from portal.web.kit.http import logs, metrics

# a mail worker that ended is started again after a pause, which doubles while it keeps ending
FIRST_PAUSE_S, LONGEST_PAUSE_S = 1, 60
SWITCH_S = 0.0005
WORKER = ("-m", "portal", "deliver", "--watch", "--server")
log = logging.getLogger(__name__)


def arguments(verb: str, parser: Parser) -> None:
    parser.add_argument(
        "--workers", type=int, default=2, help=Message("number of processes; 2 if left out")
    )
    if verb == "serve":
        parser.add_argument(
            "--new-secret",
            action="store_true",
            help=Message("let this secret take the place of the one before"),
        )
    parser.add_argument("--host", default="127.0.0.1", help=Message("the address to listen on"))


def run(verb: str, args: argparse.Namespace) -> int:
    settings = _demo_settings() if verb == "demo" else read_settings()
    must_be_free(args.host, settings.port)
    if verb == "demo":
        prepare(settings)
        must_share_the_secret(settings, new_secret=True)
        print(where_to_look(settings, reader_of(settings, args.lang)), flush=True)
    else:
        bring_up(settings)
        must_have_a_shop(settings)
        must_share_the_secret(settings, new_secret=args.new_secret)
    _Server(settings, host=args.host, workers=args.workers).run()
    return 0


def must_have_a_shop(settings: Settings) -> None:
    """Raise BadSetting where no shop file was read yet: there would be nothing to serve."""
    try:
        with opened(settings) as unit, unit.read() as session:
            unit.shop(session)
    except CraftError:
        raise BadSetting(
            Message(
                "No shop was read yet. Write a shop file (the README says how) and run: "
                ".venv/bin/python -m portal shop my_shop.toml my_powders.csv"
            )
        ) from None


def must_share_the_secret(settings: Settings, *, new_secret: bool = False) -> None:
    """Raise BadSetting where other machines serve this database with another secret."""
    with opened(settings) as unit:
        if share_secret(unit, settings.secret_key, in_place_of_another=new_secret):
            return
    raise BadSetting(
        Message(
            "This database was served with another secret. Set the PORTAL_SECRET of the other "
            "machines, or copy their secret_key to {folder}. If the old one is lost, start once "
            "with --new-secret: pages that are open must then be loaded anew.",
            folder=str(settings.data_dir),
        )
    )


def must_be_free(host: str, port: int) -> None:
    """Raise BadSetting where somebody has the port: our processes share it, and would share it."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        socket.create_server((host, port), family=family).close()
    except OSError as wrong:
        why = os.strerror(wrong.errno or 0)
        raise BadSetting(
            Message(
                "We can't listen on {address} ({why}). PORT= chooses another port.",
                address=f"{host}:{port}",
                why=why,
            )
        ) from None


def _demo_settings() -> Settings:
    settings = read_settings(os.environ | {"PORTAL_DEMO": "1"})
    if "DATABASE_URL" in os.environ:
        return settings
    home = settings.data_dir / "demo"
    home.mkdir(parents=True, exist_ok=True)
    return replace(settings, data_dir=home, database_url=f"sqlite:///{home / 'portal.sqlite3'}")


class MailWorkerProcess:
    """The process beside the server that sends the letters; it is started again when it ends."""

    def __init__(
        self,
        start: Callable[[], subprocess.Popen[bytes]],
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._start, self._clock = start, clock
        self._process: subprocess.Popen[bytes] | None = None
        self._pause, self._begun, self._next = FIRST_PAUSE_S, 0.0, 0.0

    def look(self) -> None:
        """Start the process where there is none, after its pause; called once a second."""
        if self._process is not None and self._process.poll() is not None:
            self._process = None
            lived = self._clock() - self._begun
            longer = min(2 * self._pause, LONGEST_PAUSE_S)
            self._pause = FIRST_PAUSE_S if lived > LONGEST_PAUSE_S else longer
            self._next = self._clock() + self._pause
            log.error("the mail worker has ended; it is started again in %s s", self._pause)
        if self._process is None and self._clock() >= self._next:
            self._begun = self._clock()
            try:
                self._process = self._start()
            except OSError:
                self._next = self._clock() + self._pause
                log.exception("the mail worker could not be started")

    def stop(self) -> None:
        if self._process is not None:
            self._process.terminate()


class _Arbiter(Arbiter):  # type: ignore[misc]  # gunicorn ships no types
    """Gunicorn's manager of processes, which looks after the mail worker as well."""

    def manage_workers(self) -> None:
        super().manage_workers()
        self.app.mail_worker.look()


class _Server(BaseApplication):  # type: ignore[misc]  # gunicorn ships no types
    """Gunicorn with two threads a process; a process beside it sends the letters."""

    def __init__(self, settings: Settings, *, host: str, workers: int) -> None:
        self.settings = settings
        self.bind = f"{host}:{settings.port}"
        self.workers = workers
        self.counts = metrics.COUNTS  # made before the workers, who share it
        self.mail_worker = MailWorkerProcess(self._start_mail_worker)
        super().__init__()

    def load_config(self) -> None:
        for key, value in {
            "bind": self.bind,
            "workers": self.workers,
            "worker_class": BufferingWorker,
            "threads": 2,
            # connections are dealt out among the processes, not taken by whoever wakes first
            "reuse_port": True,
            "timeout": 60,
            "graceful_timeout": 10,
            "loglevel": "warning",
            "control_socket_disable": True,
            "limit_request_line": 4094,
            "on_exit": lambda _server: self.mail_worker.stop(),
        }.items():
            if key in self.cfg.settings:
                self.cfg.set(key, value)

    def load(self) -> Any:
        """Return the app inside each worker, with a pool of connections of its own."""
        self.made.extensions["unit"].close()
        # a scan behind a page in the same process gets the processor after half a millisecond, not
        # after five, each time that it comes back from the database
        sys.setswitchinterval(SWITCH_S)
        logs.to_stderr(logging.WARNING if self.settings.demo else logging.INFO)
        return self.made

    def run(self) -> None:
        """Serve; what was imported and built before the fork is shared by the workers.

        To build the app opens no connection: none may live in two processes.
        """
        self.made = create_app(self.settings)
        gc.freeze()  # what is never looked through is never copied
        _Arbiter(self).run()

    def _start_mail_worker(self) -> subprocess.Popen[bytes]:
        environ = os.environ | {
            "DATABASE_URL": self.settings.database_url,
            "PORTAL_URL": self.settings.base_url,
            "PORTAL_SECRET": self.settings.secret_key,
            "PORTAL_DATA": str(self.settings.data_dir),
            "PORTAL_DEMO": "1" if self.settings.demo else "",
            # nobody's letter-box stands behind a demo: its letters are told on the console
            "PORTAL_SMTP": self.settings.smtp_url or ("console:" if self.settings.demo else ""),
        }
        return subprocess.Popen(  # noqa: S603  # our own words and a number
            [sys.executable, *WORKER, str(os.getpid())],
            env=environ,
            cwd=Path(__file__).resolve().parents[2],
        )
