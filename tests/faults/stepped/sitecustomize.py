"""Loaded by every Python process of a portal under faults: its clock, and planted faults.

`FAULTS_CLOCK` is a file with seconds: by so much the clock is wrong. `FAULTS_PLANTED` names one of
our own faults that the counting afterwards must find.
"""

import itertools
import os
import sys
import threading
from datetime import datetime, timedelta
from pathlib import Path

FILE = Path(os.environ.get("FAULTS_CLOCK", "/nowhere"))
PLANTED = os.environ.get("FAULTS_PLANTED", "")
FORGETS, LOSES = "forgets which buttons were pressed", "loses every tenth change"
LOSES_HALF = "acknowledges, and loses every second press and letter"
LOSES_TAGS = "acknowledges, and loses every second tag"
TWICE = "counts payments twice, renames scans and letters"
LOSING = threading.local()


def _step() -> None:
    from portal.web.kit.http import clock

    right = clock.now

    def now() -> datetime:
        wrong = FILE.read_text("ascii") if FILE.exists() else ""
        return right() + timedelta(seconds=float(wrong or 0))

    clock.now = now


def _forget() -> None:
    from portal.orders.kernel import idempotency
    from portal.store.tables import IdempotencyKey

    def key(*, once: str, **rest: object) -> IdempotencyKey:
        return IdempotencyKey(once=f"{once[:8]}{os.urandom(8).hex()}", **rest)

    idempotency.earlier_answer = lambda *_: None
    setattr(idempotency, "IdempotencyKey", key)  # noqa: B010  # another kind of thing, on purpose


def _lose() -> None:
    from portal.orders.kernel import unit

    right = unit.UnitOfWork._attempt

    def attempt(self, work):
        if os.urandom(1)[0] % 10:
            return right(self, work)
        with self._sessions() as session, self._opened(session):
            unit.begin_writing(session)
            return work(session)  # and nothing is committed

    setattr(unit.UnitOfWork, "_attempt", attempt)  # noqa: B010


def _every_second(module, name, other) -> None:
    """Let `other(right, *args, **kwargs)` take the place of every second call of a verb."""
    right, calls = getattr(module, name), itertools.count(1)

    def verb(*args, **kwargs):
        if next(calls) % 2:
            return right(*args, **kwargs)
        return other(right, *args, **kwargs)

    setattr(module, name, verb)


def _lost(right, *args, **kwargs):
    """Do a verb and roll it back, but answer as if it were done."""
    LOSING.now = True
    try:
        return right(*args, **kwargs)
    finally:
        LOSING.now = False


def _may_roll_back() -> None:
    from sqlalchemy.orm import Session

    commit = Session.commit

    def commit_or_not(self):
        return self.rollback() if getattr(LOSING, "now", False) else commit(self)

    setattr(Session, "commit", commit_or_not)  # noqa: B010


def _lose_half() -> None:
    from portal.notices.transport import SmtpWire
    from portal.orders.counter import check_in, payments
    from portal.orders.intake import booking
    from portal.orders.production import floor

    _may_roll_back()
    for module, name in (
        (booking, "book"),
        (check_in, "receive"),
        (floor, "scan_part"),
        (payments, "take_payment"),
    ):
        _every_second(module, name, _lost)
    _every_second(SmtpWire, "send", lambda *_: None)


def _lose_tags() -> None:
    from portal.orders.counter import check_in

    _may_roll_back()
    _every_second(check_in, "give_tag", _lost)


def _twice() -> None:
    from portal.notices import outbox
    from portal.orders.counter import payments
    from portal.orders.production import floor

    def paid(right, *args, once_token, **kwargs):
        right(*args, once_token=once_token, **kwargs)
        right(*args, once_token=f"again{once_token}"[:40], **kwargs)

    def scanned(right, *args, scan_id, **kwargs):
        return right(*args, scan_id=f"new-{scan_id}"[:40], **kwargs)

    def renamed(right, *args):
        message = right(*args)
        message.replace_header("Message-ID", f"<{os.urandom(8).hex()}@example.com>")
        return message

    _every_second(payments, "take_payment", paid)
    _every_second(floor, "scan_part", scanned)
    _every_second(outbox, "message_of", renamed)


PLANTS = {
    FORGETS: _forget,
    LOSES: _lose,
    LOSES_HALF: _lose_half,
    LOSES_TAGS: _lose_tags,
    TWICE: _twice,
}
if "portal" in sys.orig_argv:
    _step()
    PLANTS.get(PLANTED, lambda: None)()
