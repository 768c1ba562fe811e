"""The devices on which a person is signed in: they see them, and end those that they don't know."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.access.my_account import must_know_password
from portal.orders.access.staff_sessions import IDLE, key_hash
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.verbs import AuditVerb
from portal.store.tables import StaffSession

BROWSER = "browser"  # under this name a session keeps which browser began it
MARK = 16  # so much of a key's hash tells the devices of a person apart


@dataclass(frozen=True, slots=True)
class Device:
    """A device on which a person is signed in; `mark` names it in a form and opens nothing."""

    mark: str
    browser: str
    since: datetime
    seen: datetime
    shared: bool
    here: bool


@read_only
def my_devices(unit: UnitOfWork, session: Session, person_id: int, *, here: str) -> list[Device]:
    """Return where a person is signed in now: this device first, then those used last."""
    devices = [_device(row, here) for row in _open(session, person_id, unit.now())]
    return sorted(devices, key=lambda one: (one.here, one.seen), reverse=True)


def end_devices(
    unit: UnitOfWork, person_id: int, marks: Collection[str], *, password: str, here: str
) -> int:
    """Sign a person out on other devices and return on how many; `here` is this one's key.

    Raise `Refused` for a wrong password, or where nothing was chosen.
    """
    if not marks:
        raise Refused(Message("Choose at least one device."), key="devices")
    must_know_password(unit, person_id, password)
    return _end(unit, person_id, frozenset(marks), here)


@transactional
def _end(
    unit: UnitOfWork, session: Session, person_id: int, marks: frozenset[str], here: str
) -> int:
    at = unit.now()
    ended = 0
    for row in _open(session, person_id, at):
        device = _device(row, here)
        if device.mark in marks and not device.here:
            session.delete(row)
            record(session, at, person_id, AuditVerb.END_DEVICE, device.browser)
            ended += 1
    return ended


def _open(session: Session, person_id: int, at: datetime) -> list[StaffSession]:
    """Return the sessions of a person that still open something."""
    rows = session.scalars(
        sa.select(StaffSession).where(
            StaffSession.person_id == person_id,
            StaffSession.expires_at > at,
            StaffSession.seen_at > at - IDLE,
        )
    )
    return [row for row in rows if not row.data.get("wants_code")]


def _device(row: StaffSession, here: str) -> Device:
    return Device(
        mark=row.key_hash[:MARK],
        browser=str(row.data.get(BROWSER, "")),
        since=row.created_at,
        seen=row.seen_at,
        shared=row.shared,
        here=row.key_hash == key_hash(here),
    )
