"""Who is signed in where. Sessions live in the database, so that they can be ended there.

The browser keeps a random key and the database only its SHA-256. A session ends an hour after
its last use and twelve hours after its beginning. A shared device locks after five quiet minutes
and is opened again by anybody's PIN.
"""

import hashlib
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.access.passwords import fits
from portal.orders.access.rate_limit import count_a_try, forget
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.roles import Role
from portal.store.tables import Person, StaffSession

IDLE = timedelta(hours=1)
WHOLE = timedelta(hours=12)
LOCK_AFTER = timedelta(minutes=5)
TOUCH_EVERY = timedelta(minutes=1)
CODE_WITHIN = timedelta(minutes=5)
# a PIN is short: after this many wrong ones on a device it asks for the password again
WRONG_PINS = 10


@dataclass(frozen=True, slots=True)
class Current:
    """The person at this device. `by_pin` opens the counter and the floor, not the Books."""

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
        """Whether this person, signed in as they are, may do what `needed` may."""
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
    """Return what the database keeps of a key."""
    return hashlib.sha256(key.encode()).hexdigest()


def new_key(unit: UnitOfWork) -> str:
    """Return 256 random bits as text."""
    return unit.random_bytes(32).hex()


def begin(
    unit: UnitOfWork, session: Session, person: Person, *, shared: bool, wants_code: bool = False
) -> str:
    """Begin a session of `person` and return its key."""
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


def current(unit: UnitOfWork, key: str) -> Current | None:
    """Return who is signed in with `key`, or None; note that they were seen."""
    if not key:
        return None
    at = unit.now()
    with unit.read() as session:
        found = session.execute(
            sa.select(StaffSession, Person)
            .join(Person, Person.id == StaffSession.person_id)
            .where(StaffSession.key_hash == key_hash(key))
        ).first()
    if found is None:
        return None
    row, person = found
    if not person.active or at >= row.expires_at or at - row.seen_at >= IDLE:
        end(unit, key)
        return None
    locked = row.locked or (row.shared and at - row.seen_at >= LOCK_AFTER)
    if locked is not row.locked:
        lock(unit, key)
    elif at - row.seen_at >= TOUCH_EVERY and not locked:
        unit.write(lambda session: _set(session, key, seen_at=at))
    return Current(
        person_id=person.id,
        login=person.login,
        name=person.name,
        role=person.role,
        shared=row.shared,
        locked=locked,
        by_pin=row.by_pin,
        has_code=bool(person.totp_secret),
        wants_code=bool(row.data.get("wants_code")),
    )


def end(unit: UnitOfWork, key: str) -> None:
    """End one session."""
    unit.write(
        lambda session: session.execute(
            sa.delete(StaffSession).where(StaffSession.key_hash == key_hash(key))
        )
    )


def end_all(session: Session, person_id: int, *, but: str = "") -> None:
    """End every session of a person, but the one with this key."""
    session.execute(
        sa.delete(StaffSession).where(
            StaffSession.person_id == person_id, StaffSession.key_hash != key_hash(but)
        )
    )


def lock(unit: UnitOfWork, key: str) -> None:
    """Lock a device; what was typed stays in the browser."""
    unit.write(lambda session: _set(session, key, locked=True))


def colleagues(unit: UnitOfWork) -> tuple[Colleague, ...]:
    """Return everybody who has a PIN, for the lock page."""
    with unit.read() as session:
        rows = session.execute(
            sa.select(Person.id, Person.name)
            .where(Person.active, Person.pin_hash != "")
            .order_by(Person.name)
        )
        return tuple(Colleague(*row) for row in rows)


def unlock(unit: UnitOfWork, key: str, person_id: int, pin: str) -> str:
    """Open a locked device for the person of this PIN and return its new key.

    Raises `MustWait` after a few wrong ones and, after ten, ends the session.
    """
    hashed_key, at = key_hash(key), unit.now()
    tries = [f"pin:{hashed_key[:32]}:{person_id}"]

    def ask(session: Session) -> tuple[str, int] | None:
        row = session.get(StaffSession, hashed_key)
        if row is None or at >= row.expires_at or at - row.seen_at >= IDLE:
            return None
        count_a_try(session, tries, at)
        wrong = int(row.data.get("wrong_pins", 0)) + 1
        row.data = {**row.data, "wrong_pins": wrong}
        person = session.get(Person, person_id)
        return (person.pin_hash if person and person.active else "", wrong)

    asked = unit.write(ask)
    if asked is None:
        raise Refused(Message("This device was signed out. Sign in with your password."))
    pin_hash, wrong = asked
    if not fits(pin_hash, pin):
        if wrong >= WRONG_PINS:
            end(unit, key)
            raise Refused(Message("Too many wrong PINs. Sign in with your password."), key="ended")
        raise Refused(Message("This is not this person's PIN. Try again."), key="pin")
    fresh = new_key(unit)

    def open_it(session: Session) -> str:
        forget(session, tries)
        row = session.get(StaffSession, hashed_key)
        if row is None:
            raise Refused(Message("This device was signed out. Sign in with your password."))
        session.add(
            StaffSession(
                key_hash=key_hash(fresh),
                person_id=person_id,
                shared=row.shared,
                # even for the one who signed in here: a short PIN must never open the Books
                by_pin=True,
                data={},
                created_at=row.created_at,
                seen_at=at,
                expires_at=row.expires_at,
            )
        )
        session.delete(row)
        record(session, at, person_id, "unlock", "")
        session.flush()
        return fresh

    return unit.write(open_it)


def keep(unit: UnitOfWork, key: str, name: str, value: Any) -> None:
    """Keep a small thing with the session, such as a second factor that is being set up."""

    def put(session: Session) -> None:
        row = session.get(StaffSession, key_hash(key))
        if row is not None:
            row.data = {**row.data, name: value}

    unit.write(put)


def session_value(unit: UnitOfWork, key: str, name: str) -> Any:
    """Return what was put under `name`, or None."""
    with unit.read() as session:
        row = session.get(StaffSession, key_hash(key))
        return row.data.get(name) if row else None


def _set(session: Session, key: str, **values: object) -> None:
    session.execute(
        sa.update(StaffSession).where(StaffSession.key_hash == key_hash(key)).values(**values)
    )
