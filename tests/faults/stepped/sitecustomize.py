"""Loaded by every Python process of a portal under faults: its clock, and planted faults.

`FAULTS_CLOCK` is a file with seconds: by so much the clock is wrong. `FAULTS_PLANTED` names one of
our own faults that the counting afterwards must find.
"""

import os
import sys
from datetime import datetime, timedelta
from pathlib import Path

FILE = Path(os.environ.get("FAULTS_CLOCK", "/nowhere"))
PLANTED = os.environ.get("FAULTS_PLANTED", "")
FORGETS, LOSES = "forgets which buttons were pressed", "loses every tenth change"


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


if "portal" in sys.orig_argv:
    _step()
    {FORGETS: _forget, LOSES: _lose}.get(PLANTED, lambda: None)()
