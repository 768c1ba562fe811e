"""`serve`, `demo` and `deliver`: the verbs that run until they are stopped."""

import argparse
import logging
import os
import socket
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

from gunicorn.app.base import BaseApplication

from portal.cli.demo import prepare, where_to_look
from portal.cli.opening import opened, reader_of
from portal.cli.parsing import Parser
from portal.craft.messages import CraftError, Message
from portal.notices.outbox import deliver_due
from portal.notices.transport import BadWire, wire_for
from portal.orders.counter.unfetched import remind_unfetched
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.office.retention import sweep
from portal.orders.planning.forecasting import reforecast_all
from portal.orders.planning.stored_floor import floor_key
from portal.settings import BadSetting, Settings, read_settings
from portal.store import migrations
from portal.web.kit.http import logs

PAUSE_S = 5
SWEEP_EVERY = 60  # rounds
FORECAST_EVERY = 60


def arguments(verb: str, parser: Parser) -> None:
    if verb == "deliver":
        parser.add_argument(
            "--watch", action="store_true", help=Message("go on until it is stopped")
        )
    else:
        parser.add_argument(
            "--workers", type=int, default=2, help=Message("number of processes; 2 if left out")
        )
        parser.add_argument("--host", default="127.0.0.1", help=Message("the address to listen on"))


def run(verb: str, args: argparse.Namespace) -> int:
    if verb == "deliver":
        return _deliver(read_settings(), watch=args.watch)
    settings = _demo_settings() if verb == "demo" else read_settings()
    must_be_free(args.host, settings.port)
    if verb == "demo":
        prepare(settings)
        print(where_to_look(settings, reader_of(settings, args.lang)), flush=True)
    else:
        migrations.upgrade(settings.database_url)
        must_have_a_shop(settings)
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


def _deliver(settings: Settings, *, watch: bool) -> int:
    """Send due letters; with `watch`, also sweep and forecast, until the parent has ended."""
    logs.keep_quiet()
    if watch:
        logs.to_stderr()
    parent, rounds, forecast_of = os.getppid(), 0, None
    try:
        wire = wire_for(settings.smtp_url, mail_from=settings.mail_from)
    except BadWire as wrong:
        raise BadSetting(wrong.sentence) from None
    with opened(settings) as unit:
        while True:
            try:
                if watch:
                    forecast_of = _forecast_when_changed(unit, forecast_of, rounds)
                deliver_due(unit, wire, mail_from=settings.mail_from)
                if rounds % SWEEP_EVERY == 0:
                    sweep(unit)
                    remind_unfetched(unit)
            except Exception:
                # a database that is busy for a while must not end the only postman
                if not watch:
                    raise
                logging.getLogger(__name__).exception("a round failed; the next one tries again")
            if not watch or os.getppid() != parent:
                return 0
            rounds += 1
            time.sleep(PAUSE_S)


def _forecast_when_changed(unit: UnitOfWork, before: object, rounds: int) -> object:
    """Forecast every open job after any change, and every few minutes anyway."""
    with unit.read() as session:
        key = floor_key(session)
    if key != before or rounds % FORECAST_EVERY == 0:
        reforecast_all(unit)
        with unit.read() as session:
            key = floor_key(session)  # a new date that was told is an event too
    return key


class _Server(BaseApplication):  # type: ignore[misc]  # gunicorn ships no types
    """Gunicorn with two threads a process; a process beside it sends the letters."""

    def __init__(self, settings: Settings, *, host: str, workers: int) -> None:
        self.settings = settings
        self.bind = f"{host}:{settings.port}"
        self.workers = workers
        self.postman: subprocess.Popen[bytes] | None = None
        super().__init__()

    def load_config(self) -> None:
        for key, value in {
            "bind": self.bind,
            "workers": self.workers,
            "worker_class": "gthread",
            "threads": 2,
            # connections are dealt out among the processes, not taken by whoever wakes first
            "reuse_port": True,
            "timeout": 60,
            "graceful_timeout": 10,
            "loglevel": "warning",
            "control_socket_disable": True,
            "limit_request_line": 4094,
            "when_ready": self._start_postman,
            "on_exit": self._stop_postman,
        }.items():
            if key in self.cfg.settings:
                self.cfg.set(key, value)

    def load(self) -> Any:
        """Build the app inside each worker, after the fork: no connection is shared."""
        from portal.web.app import create_app  # noqa: PLC0415  # only in a worker

        made = create_app(self.settings)
        logs.to_stderr(logging.WARNING if self.settings.demo else logging.INFO)
        return made

    def _start_postman(self, _server: Any) -> None:
        environ = os.environ | {
            "DATABASE_URL": self.settings.database_url,
            "PORTAL_URL": self.settings.base_url,
            "PORTAL_SECRET": self.settings.secret_key,
            "PORTAL_DATA": str(self.settings.data_dir),
            "PORTAL_DEMO": "1" if self.settings.demo else "",
            # nobody's letter-box stands behind a demo: its letters are told on the console
            "PORTAL_SMTP": self.settings.smtp_url or ("console:" if self.settings.demo else ""),
        }
        self.postman = subprocess.Popen(
            [sys.executable, "-m", "portal", "deliver", "--watch"],
            env=environ,
            cwd=Path(__file__).resolve().parents[2],
        )

    def _stop_postman(self, _server: Any) -> None:
        if self.postman is not None:
            self.postman.terminate()
