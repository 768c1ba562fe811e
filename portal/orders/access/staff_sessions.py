"""Staff sessions, kept in the database so that they can be ended there.

The browser keeps a random key and the database only its SHA-256. A session ends an hour after its
last use and twelve hours after its start. A shared device locks after five quiet minutes and is
opened by anybody's PIN.
"""

import hashlib
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.access.passwords import fits
from portal.orders.access.rate_limit import count_a_try, forget
from portal.orders.kernel.audit_log import record, record_refused
from portal.orders.kernel.errors import Busy, Refused, Unknown
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.roles import Role
from portal.shop.verbs import AuditVerb
from portal.store.tables import Person, StaffSession

IDLE = timedelta(hours=1)
WHOLE = timedelta(hours=12)
LOCK_AFTER = timedelta(minutes=5)
TOUCH_EVERY = timedelta(minutes=1)
CODE_WITHIN = timedelta(minutes=5)
# a PIN is short: after this many wrong ones on a device it asks for the password again
WRONG_PINS = 10
NO_PERSON = Message("We can't find this person.")
SIGNED_OUT = Message("This device was signed out. Sign in with your password.")
# built once, because every page asks it
_WHO = (
    sa.select(
        StaffSession.person_id,
        StaffSession.data,
        StaffSession.shared,
        StaffSession.locked,
        StaffSession.by_pin,
        StaffSession.seen_at,
        StaffSession.expires_at,
        *(Person.login, Person.name, Person.role, Person.totp_secret, Person.active),
    )
    .join(Person, Person.id == StaffSession.person_id)
    .where(StaffSession.key_hash == sa.bindparam("key_hash"))
)


@dataclass(frozen=True, slots=True)
class Current:
    """The person at this device. `by_pin` opens the counter and the floor, not the office."""

    person_id: int
    login: str
    name: str
    role: Role
    shared: bool
    locked: bool
    by_pin: bool
    has_code: bool
    wants_code: bool = False

    def may(self, needed: Role) -> bool:
        """Return whether this person, signed in as they are, may do what `needed` may."""
        if self.locked or self.wants_code:
            return False
        return self.role.covers(needed) and not (self.by_pin and needed is Role.OFFICE)

    @property
    def at_counter(self) -> bool:
        """Whether this person also receives and hands back jobs."""
        return self.role.covers(Role.COUNTER)

    @property
    def in_office(self) -> bool:
        """Whether the office pages are theirs, once they sign in with their password."""
        return self.role.covers(Role.OFFICE)


@dataclass(frozen=True, slots=True)
class Colleague:
    """A person who may open a locked device by PIN."""

    person_id: int
    name: str


def key_hash(key: str) -> str:
    """Return the hash under which the database stores a key."""
    return hashlib.sha256(key.encode()).hexdigest()


def new_key(unit: UnitOfWork) -> str:
    """Return 256 random bits as text."""
    return unit.random_bytes(32).hex()


def load_person(session: Session, person_id: int) -> Person:
    """Return a member of staff; raise Unknown where there is none."""
    person = session.get(Person, person_id)
    if person is None:
        raise Unknown(NO_PERSON)
    return person


def begin(
    unit: UnitOfWork, session: Session, person: Person, *, shared: bool, wants_code: bool = False
) -> str:
    """Start a session of `person` and return its key."""
    key, at = new_key(unit), unit.now()
    session.add(
        StaffSession(
            key_hash=key_hash(key),
            person_id=person.id,
            shared=shared,
            data={"wants_code": True} if wants_code else {},
            created_at=at,
            seen_at=at,
            expires_at=at + (CODE_WITHIN if wants_code else WHOLE),
        )
    )
    session.flush()
    return key


def _who(session: Session, key: str, also: Callable[[Session], None] | None) -> Any:
    found = session.execute(_WHO, {"key_hash": key_hash(key)}).first()
    if found is not None and also is not None:
        also(session)
    return found


def current(
    unit: UnitOfWork, key: str, also: Callable[[Session], None] | None = None
) -> Current | None:
    """Return who is signed in with `key`, or None; update when they were last seen.

    `also` reads in the same snapshot what a page of theirs will ask for: a snapshot of its own
    costs as much as the reading.
    """
    if not key:
        return None
    at = unit.now()
    row = unit.look(lambda session: _who(session, key, also))
    if row is None:
        return None
    if not row.active or at >= row.expires_at or at - row.seen_at >= IDLE:
        end(unit, key)
        return None
    locked = row.locked or (row.shared and at - row.seen_at >= LOCK_AFTER)
    if locked is not row.locked:
        lock(unit, key)
    elif at - row.seen_at >= TOUCH_EVERY and not locked:
        # a reader can go on while nothing can be saved
        with suppress(Busy):
            _update(unit, key, seen_at=at)
    return Current(
        person_id=row.person_id,
        login=row.login,
        name=row.name,
        role=row.role,
        shared=row.shared,
        locked=locked,
        by_pin=row.by_pin,
        has_code=bool(row.totp_secret),
        wants_code=bool(row.data.get("wants_code")),
    )


@transactional
def end(_unit: UnitOfWork, session: Session, key: str) -> None:
    session.execute(sa.delete(StaffSession).where(StaffSession.key_hash == key_hash(key)))


def end_all(session: Session, person_id: int, *, but: str = "") -> None:
    """End every session of a person, except the one with this key."""
    session.execute(
        sa.delete(StaffSession).where(
            StaffSession.person_id == person_id, StaffSession.key_hash != key_hash(but)
        )
    )


def lock(unit: UnitOfWork, key: str) -> None:
    """Lock a device; what was typed stays in the browser."""
    _update(unit, key, locked=True)


@read_only
def colleagues(_unit: UnitOfWork, session: Session) -> tuple[Colleague, ...]:
    """Return everybody who has a PIN, for the lock page."""
    rows = session.execute(
        sa.select(Person.id, Person.name)
        .where(Person.active, Person.pin_hash != "")
        .order_by(Person.name)
    )
    return tuple(Colleague(*row) for row in rows)


def unlock(unit: UnitOfWork, key: str, person_id: int, pin: str) -> str:
    """Open a locked device for the person of this PIN and return its new key.

    Raises `RateLimited` after a few wrong ones and, after ten, ends the session.
    """
    pin_hash, wrong = _count_pin_try(unit, key, person_id)
    if fits(pin_hash, pin):
        return _hand_over(unit, key, person_id)
    with unit.read() as session:
        whom = load_person(session, person_id).login
    record_refused(unit, AuditVerb.WRONG_PIN, whom)
    if wrong < WRONG_PINS:
        raise Refused(Message("This is not this person's PIN. Try again."), key="pin")
    end(unit, key)
    raise Refused(Message("Too many wrong PINs. Sign in with your password."), key="ended")


@transactional
def _count_pin_try(unit: UnitOfWork, session: Session, key: str, person_id: int) -> tuple[str, int]:
    """Return the PIN's hash, and how many tries this device has seen with this one."""
    at = unit.now()
    row = session.get(StaffSession, key_hash(key))
    if row is None or at >= row.expires_at or at - row.seen_at >= IDLE:
        raise Refused(SIGNED_OUT)
    count_a_try(session, _pin_tries(key, person_id), at)
    wrong = int(row.data.get("wrong_pins", 0)) + 1
    row.data = {**row.data, "wrong_pins": wrong}
    person = session.get(Person, person_id)
    return (person.pin_hash if person and person.active else "", wrong)


@transactional
def _hand_over(unit: UnitOfWork, session: Session, key: str, person_id: int) -> str:
    """End the locked session and begin one of this person in its place; return its key."""
    forget(session, _pin_tries(key, person_id))
    row = session.get(StaffSession, key_hash(key))
    if row is None:
        raise Refused(SIGNED_OUT)
    fresh, at = new_key(unit), unit.now()
    session.add(
        StaffSession(
            key_hash=key_hash(fresh),
            person_id=person_id,
            shared=row.shared,
            # even for the one who signed in here: a short PIN must never open the office
            by_pin=True,
            data={},
            created_at=row.created_at,
            seen_at=at,
            expires_at=row.expires_at,
        )
    )
    session.delete(row)
    record(session, at, person_id, AuditVerb.UNLOCK)
    session.flush()
    return fresh


def _pin_tries(key: str, person_id: int) -> list[str]:
    return [f"pin:{key_hash(key)[:32]}:{person_id}"]


@transactional
def keep(_unit: UnitOfWork, session: Session, key: str, name: str, value: Any) -> None:
    """Store a small value with the session, such as a second factor that is being set up."""
    row = session.get(StaffSession, key_hash(key))
    if row is not None:
        row.data = {**row.data, name: value}


@read_only
def session_value(_unit: UnitOfWork, session: Session, key: str, name: str) -> Any:
    """Return what was stored under `name`, or None."""
    row = session.get(StaffSession, key_hash(key))
    return row.data.get(name) if row else None


@transactional
def _update(_unit: UnitOfWork, session: Session, key: str, /, **values: object) -> None:
    session.execute(
        sa.update(StaffSession).where(StaffSession.key_hash == key_hash(key)).values(**values)
    )
