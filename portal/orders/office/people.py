"""Staff accounts: roles, new passwords, and leaving."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.access import staff_sessions
from portal.orders.access.passwords import hashed, must_be_good
from portal.orders.access.rate_limit import forget, forget_account
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Refused, Unknown
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.roles import Role
from portal.shop.verbs import AuditVerb
from portal.store.tables import Person, StaffSession

ACTIVE, GONE = Message("Works here"), Message("no longer here")


@dataclass(frozen=True, slots=True)
class PersonLine:
    """A member of staff as the office sees them; never a hash."""

    person_id: int
    login: str
    name: str
    role: Role
    active: bool
    has_pin: bool
    has_code: bool
    devices: int
    seen_at: datetime | None


@read_only
def people(unit: UnitOfWork, session: Session) -> tuple[PersonLine, ...]:
    """Return everybody, those who are here first."""
    sessions = (
        sa.select(
            StaffSession.person_id,
            sa.func.count().label("devices"),
            sa.func.max(StaffSession.seen_at).label("seen_at"),
        )
        .where(StaffSession.expires_at > unit.now())
        .group_by(StaffSession.person_id)
        .subquery()
    )
    rows = session.execute(
        sa.select(Person, sessions.c.devices, sessions.c.seen_at)
        .outerjoin(sessions, sessions.c.person_id == Person.id)
        .order_by(Person.active.desc(), Person.name)
    )
    return tuple(_line(row, devices or 0, at) for row, devices, at in rows)


def person(unit: UnitOfWork, person_id: int) -> PersonLine:
    found = next((one for one in people(unit) if one.person_id == person_id), None)
    if found is None:
        raise Unknown(staff_sessions.NO_PERSON)
    return found


@transactional
def change_person(
    unit: UnitOfWork,
    session: Session,
    person_id: int,
    *,
    name: str,
    role: Role,
    active: bool,
    who: int,
) -> None:
    """Change name, role and whether a person is active; the last office account stays."""
    shown = " ".join(name.split())[:80]
    if not shown:
        raise Refused(Message("Enter a name."), key="name")

    row = staff_sessions.load_person(session, person_id)
    leaves_office = row.role is Role.OFFICE and row.active and not (role is Role.OFFICE and active)
    if leaves_office and _in_office(session) == 1:
        raise Refused(
            Message("This is the only person with the office role. Add another one first."),
            key="role",
        )
    before = (row.name, row.role, ACTIVE if row.active else GONE)
    row.name, row.role, row.active = shown, role, active
    if not active:
        staff_sessions.end_all(session, person_id)
    after = (row.name, row.role, ACTIVE if row.active else GONE)
    record(session, unit.now(), who, AuditVerb.CHANGE_PERSON, _changed(row.login, before, after))


def new_password(unit: UnitOfWork, person_id: int, password: str, *, who: int) -> None:
    """Give a person a new password; they are signed out everywhere."""
    with unit.read() as session:
        login = staff_sessions.load_person(session, person_id).login
    must_be_good(password, login=login, with_code=False)
    _put_password(unit, person_id, hashed(password), who)


@transactional
def _put_password(
    unit: UnitOfWork, session: Session, person_id: int, secret: str, who: int
) -> None:
    row = staff_sessions.load_person(session, person_id)
    row.password_hash = secret
    staff_sessions.end_all(session, person_id)
    forget(session, [f"code:{row.id}", f"word:{row.id}"])
    forget_account(session, row.login)
    record(session, unit.now(), who, AuditVerb.GIVE_PASSWORD, row.login)


@transactional
def take_pin(unit: UnitOfWork, session: Session, person_id: int, *, who: int) -> None:
    """Delete a person's PIN; they set a new one themselves."""
    row = staff_sessions.load_person(session, person_id)
    row.pin_hash = ""
    record(session, unit.now(), who, AuditVerb.PIN_OFF, row.login)


def _line(row: Person, devices: int, seen_at: datetime | None) -> PersonLine:
    return PersonLine(
        person_id=row.id,
        login=row.login,
        name=row.name,
        role=row.role,
        active=row.active,
        has_pin=bool(row.pin_hash),
        has_code=bool(row.totp_secret),
        devices=devices,
        seen_at=seen_at,
    )


def _in_office(session: Session) -> int:
    found = session.scalar(
        sa.select(sa.func.count())
        .select_from(Person)
        .where(Person.active, Person.role == Role.OFFICE)
    )
    return found or 0


def _changed(login: str, before: tuple[Any, ...], after: tuple[Any, ...]) -> Message:
    return Message("{login}: {before} → {after}", login=login, before=before, after=after)
