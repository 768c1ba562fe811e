"""Signing in: password, perhaps a code, and a session on this device.

An unknown login, a wrong password and a former member of staff get the same answer after the same
time. Every try is counted before it is checked (`rate_limit`).
"""

import hashlib
from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.access import staff_sessions
from portal.orders.access.passwords import fits, hashed, must_be_good
from portal.orders.access.rate_limit import count_a_try, forget, forget_account
from portal.orders.access.second_factor import use_code, use_recovery_code
from portal.orders.kernel.audit_log import record, record_refused
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.roles import Role
from portal.shop.verbs import AuditVerb
from portal.store.tables import KnownDevice, Person, StaffSession

LOGIN_LETTERS = set("abcdefghijklmnopqrstuvwxyz0123456789._-")
LONGEST_LOGIN, LONGEST_NAME = 60, 80


@dataclass(frozen=True, slots=True)
class SignedIn:
    """The key of the new session, the key of this device, and whether a code is still wanted."""

    key: str
    device: str
    wants_code: bool


def sign_in(
    unit: UnitOfWork,
    login: str,
    password: str,
    *,
    address: str,
    device: str = "",
    shared: bool = False,
) -> SignedIn:
    """Sign a person in with their password.

    `device` is the key that this browser was given before, or "". Raise `RateLimited` after too
    many tries, `Refused` for anything that doesn't match.
    """
    name = login.strip().lower()[:LONGEST_LOGIN]
    person, keys = _count_password_try(unit, name, address=address, device=device)
    good = fits(person.password_hash if person else "", password)
    if person is None or not good or not person.active:
        whom = person.login if person else Message("a name that nobody has")
        record_refused(unit, AuditVerb.WRONG_PASSWORD, whom)
        raise Refused(Message("The name or the password is wrong."), key="password")
    return _begin(unit, person, keys, device=device, shared=shared)


@transactional
def _count_password_try(
    unit: UnitOfWork, session: Session, name: str, *, address: str, device: str
) -> tuple[Person | None, list[str]]:
    person = session.scalars(sa.select(Person).where(Person.login == name)).first()
    keys = _keys(session, name, person, address=address, device=device)
    count_a_try(session, keys, unit.now())
    return person, keys


@transactional
def _begin(
    unit: UnitOfWork,
    session: Session,
    person: Person,
    keys: list[str],
    *,
    device: str,
    shared: bool,
) -> SignedIn:
    wants_code = bool(person.totp_secret)
    # with a code still to come, the failures stay: a known password must not reset them
    forget(session, [] if wants_code else keys)
    key = staff_sessions.begin(unit, session, person, shared=shared, wants_code=wants_code)
    if wants_code:
        return SignedIn(key, device, wants_code=True)
    record(session, unit.now(), person.id, AuditVerb.SIGN_IN)
    return SignedIn(key, _know_device(unit, session, person.id, device), wants_code=False)


def give_code(unit: UnitOfWork, key: str, code: str, *, device: str = "") -> SignedIn:
    """Check the second factor's code of a waiting session; the session gets a new key."""
    signed_in = _begin_by_code(unit, key, code, device)
    # a wrong try must stay counted, so the refusal comes after the transaction
    if isinstance(signed_in, str):
        record_refused(unit, AuditVerb.WRONG_CODE, signed_in)
        raise Refused(
            Message("This code is wrong or was already used. Wait for the next one."), key="code"
        )
    return signed_in


@transactional
def _begin_by_code(
    unit: UnitOfWork, session: Session, key: str, code: str, device: str
) -> SignedIn | str:
    """Return the new session, or of a wrong code the name whose it was to be."""
    at = unit.now()
    row = session.get(StaffSession, staff_sessions.key_hash(key))
    if row is None or not row.data.get("wants_code") or at >= row.expires_at:
        raise Refused(Message("You took too long. Sign in again."), key="ended")
    person = session.get_one(Person, row.person_id)
    tries = [f"code:{person.id}"]
    count_a_try(session, tries, at)
    if not person.active:
        return person.login
    if not use_code(session, person, code, at):
        if not use_recovery_code(session, person, code):
            return person.login
        record(session, at, person.id, AuditVerb.RECOVERY_CODE_USED)
    forget(session, tries)
    forget_account(session, person.login)
    fresh = staff_sessions.begin(unit, session, person, shared=row.shared)
    record(session, at, person.id, AuditVerb.SIGN_IN)
    session.delete(row)
    return SignedIn(fresh, _know_device(unit, session, person.id, device), wants_code=False)


def add_person(
    unit: UnitOfWork, *, login: str, name: str, role: Role, password: str, who: int | None = None
) -> int:
    """Add a member of staff, or set the password, name and role of an existing one."""
    short = login.strip().lower()
    if not short or len(short) > LONGEST_LOGIN or not set(short) <= LOGIN_LETTERS:
        raise Refused(
            Message("Use the letters a to z, digits, dots and dashes in a sign-in name."),
            key="login",
        )
    shown = " ".join(name.split())
    if not shown or len(shown) > LONGEST_NAME:
        raise Refused(
            Message("Enter a name of at most {n} characters.", n=LONGEST_NAME), key="name"
        )
    must_be_good(password, login=short, with_code=False)
    return _put_person(unit, short, shown, role, hashed(password), who)


@transactional
def _put_person(  # what a member of staff is
    unit: UnitOfWork,
    session: Session,
    login: str,
    name: str,
    role: Role,
    secret: str,
    who: int | None,
) -> int:
    at = unit.now()
    person = session.scalars(sa.select(Person).where(Person.login == login)).first()
    verb = AuditVerb.ADD_PERSON if person is None else AuditVerb.RENEW_PERSON
    if person is None:
        person = Person(login=login, created_at=at, name=name, role=role, password_hash=secret)
        session.add(person)
        session.flush()
    else:
        person.name, person.role, person.password_hash = name, role, secret
        person.active = True
        staff_sessions.end_all(session, person.id)
        forget(session, [f"code:{person.id}"])
        forget_account(session, login)
    record(session, at, who, verb, Message("{login} ({role})", login=login, role=role))
    return person.id


@read_only
def nobody_yet(_unit: UnitOfWork, session: Session) -> bool:
    """Return whether no member of staff exists, so that the terminal must make the first."""
    return session.scalar(sa.select(sa.func.count()).select_from(Person)) == 0


def _keys(
    session: Session, login: str, person: Person | None, *, address: str, device: str
) -> list[str]:
    if person is not None and device:
        known = session.get(KnownDevice, (staff_sessions.key_hash(device), person.id))
        if known is not None:
            return [f"device:{staff_sessions.key_hash(device)[:32]}:{person.id}"]
    # the key column is short and an address can be anything that a proxy sends
    where = hashlib.sha256(address.encode()).hexdigest()[:32]
    return [f"pair:{login}@{where}", f"login:{login}", f"address:{where}"]


def _know_device(unit: UnitOfWork, session: Session, person_id: int, device: str) -> str:
    # only a key that we made counts: a stranger would know a key of his own
    ours = sa.exists().where(KnownDevice.key_hash == staff_sessions.key_hash(device))
    key = device if device and session.scalar(sa.select(ours)) else staff_sessions.new_key(unit)
    known = (staff_sessions.key_hash(key), person_id)
    if session.get(KnownDevice, known) is None:
        session.add(KnownDevice(key_hash=known[0], person_id=person_id, made_at=unit.now()))
    return key
