"""`deliver`: sends the letters that wait; with `--watch`, the worker beside the server.

The worker also sweeps, reminds and forecasts, and leaves a sign of life in the database. Where
several are started over one database, one works and the others wait for it to end.
"""

import argparse
import logging
import os
import time
from dataclasses import dataclass, field
from email.utils import parseaddr

from sqlalchemy.exc import DBAPIError

from portal.cli.opening import opened, reader_of
from portal.cli.parsing import Parser
from portal.craft.messages import Message
from portal.notices.outbox import Delivered, deliver_by, deliver_due
from portal.notices.push_messages import PushSender
from portal.notices.text_messages import TextHook
from portal.notices.transport import BadWire, Wire, wire_for
from portal.orders.counter.unfetched import remind_unfetched
from portal.orders.kernel.heartbeat import beat, mail_worker
from portal.orders.kernel.push import is_push_due, push_key, send_to_browsers
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.office.closures import tell_of_closures
from portal.orders.office.reminding import remind
from portal.orders.office.retention import sweep
from portal.orders.planning.forecasting import reforecast_all
from portal.orders.planning.stored_floor import floor_key
from portal.render.text import render
from portal.settings import BadSetting, Settings, read_settings
from portal.shop.states import Channel
from portal.store.sole_process import SoleProcess, sole_process
from portal.web.kit.http import logs

NAME = "mail_worker"
PAUSE_S = 5
SWEEP_EVERY = 60  # rounds
FORECAST_EVERY = 60
BEAT_EVERY = 6
PUSH_BATCH = 10  # a service that stalls must not hold the letters up
log = logging.getLogger(__name__)


def arguments(_verb: str, parser: Parser) -> None:
    parser.add_argument("--watch", action="store_true", help=Message("go on until it is stopped"))
    parser.add_argument(
        "--server", type=int, help=Message("the process of the server; the worker ends with it")
    )


def run(_verb: str, args: argparse.Namespace) -> int:
    """Send what is due and say what was done; with `--watch`, go on until the parent has ended."""
    settings = read_settings()
    logs.keep_quiet()
    try:
        wire = wire_for(settings.smtp_url, mail_from=settings.mail_from)
    except BadWire as wrong:
        raise BadSetting(wrong.sentence) from None
    texts = TextHook(settings.text_url, settings.text_key)
    with opened(settings) as unit:
        if args.watch:
            logs.to_stderr()
            turn = sole_process(settings.database_url, NAME)
            MailWorker(unit, wire, settings, texts).watch(turn, server=args.server or os.getppid())
            return 0
        done = deliver_due(unit, wire, mail_from=settings.mail_from)
        deliver_texts(unit, texts)
        deliver_push(unit, settings)
        sweep(unit)
        remind_unfetched(unit)
        remind(unit)
    print(render(says(done, open_wire=wire.open), reader_of(settings, args.lang)))
    return 1 if done.down or not wire.open else 0


def deliver_texts(unit: UnitOfWork, texts: TextHook) -> Delivered:
    """Send the text messages that are due."""
    return deliver_by(
        unit,
        Channel.TEXT,
        texts.open,
        lambda claimed: texts.send(claimed, int(unit.now().timestamp())),
    )


def deliver_push(unit: UnitOfWork, settings: Settings) -> Delivered:
    """Send the messages to browsers that are due."""
    if not is_push_due(unit):
        return Delivered()
    sender = PushSender(
        push_key(unit), f"mailto:{parseaddr(settings.mail_from)[1]}", settings.push_local
    )
    return deliver_by(
        unit,
        Channel.PUSH,
        True,  # noqa: FBT003  # every browser names its own service
        lambda claimed: send_to_browsers(unit, sender, claimed),
        most=PUSH_BATCH,
    )


def says(done: Delivered, *, open_wire: bool) -> Message:
    """Return what a round did."""
    if not open_wire:
        return Message("No mail server is set, so nothing was sent. The setting is PORTAL_SMTP.")
    values = {"sent": done.sent, "later": done.later, "given_up": done.given_up}
    if done.down:
        return Message(
            "Letters sent: {sent}; tried again later: {later}; given up: {given_up}. {why}",
            **values,
            why=done.down,
        )
    return Message(
        "Letters sent: {sent}; tried again later: {later}; given up: {given_up}.", **values
    )


@dataclass
class MailWorker:
    """What the process beside the server does, round by round."""

    unit: UnitOfWork
    wire: Wire
    settings: Settings
    texts: TextHook = field(default_factory=lambda: TextHook("", ""))
    rounds: int = 0
    works: bool | None = None
    forecast_of: object = None
    trouble: Message | None = None

    def watch(self, turn: SoleProcess, *, server: int) -> None:
        """Work in turn with the workers of other servers until the own server has ended.

        `server` is the process that began this one; it may end before this one has looked around.
        """
        while os.getppid() == server:
            self.round_in_turn(turn)
            time.sleep(PAUSE_S)

    def round_in_turn(self, turn: SoleProcess) -> None:
        """Do a round if this is the one worker; say when that changes."""
        try:
            works = turn.held()
        except (DBAPIError, OSError):
            log.exception("a round failed; the next one tries again")
            return
        if works != self.works:
            log.info("the mail worker is at work" if works else "another mail worker is at work")
            self.works = works
        if works:
            self.round()
            self.rounds += 1

    def round(self) -> None:
        """Do what is due; what fails is logged, tried again in the next round, and stops nothing.

        So a database that is busy for a while does not end the only worker.
        """
        for work in (
            self._deliver,
            self._deliver_texts,
            self._deliver_push,
            self._forecast_when_changed,
            self._sweep,
        ):
            try:
                work()
            except Exception:
                log.exception("a round failed; the next one tries again")

    def _deliver_push(self) -> None:
        """Send the messages to browsers that are due."""
        deliver_push(self.unit, self.settings)

    def _deliver_texts(self) -> None:
        """Send the text messages that are due; each failure is recorded in its own row."""
        deliver_texts(self.unit, self.texts)

    def _deliver(self) -> None:
        self._sign_of_life(self.trouble, due=self.rounds % BEAT_EVERY == 0)
        done = deliver_due(self.unit, self.wire, mail_from=self.settings.mail_from)
        # a round without a letter says nothing of the mail server
        quiet = self.trouble if self.trouble and mail_worker(self.unit).waiting else None
        self._sign_of_life(done.down or (None if done.sent else quiet), due=False)

    def _sweep(self) -> None:
        if self.rounds % SWEEP_EVERY == 0:
            tell_of_closures(self.unit)
            sweep(self.unit)
            remind_unfetched(self.unit)
            remind(self.unit)

    def _sign_of_life(self, trouble: Message | None, *, due: bool) -> None:
        if due or trouble != self.trouble:
            beat(self.unit, trouble=trouble)
            self.trouble = trouble

    def _forecast_when_changed(self) -> None:
        """Forecast every open job after any change, and every few minutes anyway."""
        with self.unit.read() as session:
            key = floor_key(session)
        if key != self.forecast_of or self.rounds % FORECAST_EVERY == 0:
            reforecast_all(self.unit)
            with self.unit.read() as session:
                key = floor_key(session)  # a new date that was told is an event too
        self.forecast_of = key
