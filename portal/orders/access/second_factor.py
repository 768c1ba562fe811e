"""The optional second factor: a six-digit code that changes every thirty seconds (RFC 6238)."""

import hashlib
from datetime import datetime
from hmac import compare_digest

import pyotp
import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.access import staff_sessions
from portal.orders.access.rate_limit import count_a_try, forget
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.codes import BASE32, pick
from portal.shop.verbs import AuditVerb
from portal.store.tables import Person, RecoveryCode

STEP = 30
# RFC 4226, section 4: at least 128 bits, 160 recommended; 32 base-32 characters are 160
LETTERS = 32
# digits, so that the keys of a telephone suffice; with the limit on tries no one guesses them
RECOVERY_CODES, DIGITS = 10, 12


def new_secret(unit: UnitOfWork) -> str:
    """Return a fresh secret of 160 bits in base 32."""
    return pick(BASE32, LETTERS, unit.random_bytes)


def address_of(secret: str, login: str, issuer: str) -> str:
    """Return the otpauth address that an authenticator reads from a QR code.

    `issuer` is the name of the works; a colon parts it from the login, so it has none.
    """
    plain = " ".join(issuer.replace(":", " ").split())
    return str(pyotp.TOTP(secret).provisioning_uri(name=login, issuer_name=plain))


def step_of(secret: str, code: str, at: datetime, last: int) -> int | None:
    """Return the time step of a code, or None; a step that was used is never valid again.

    One step before and after is allowed for clocks that differ (RFC 6238, section 5.2).
    """
    typed = "".join(code.split())
    now = int(at.timestamp()) // STEP
    totp = pyotp.TOTP(secret)
    for step in (now, now - 1, now + 1):
        good = compare_digest(str(totp.at(step * STEP)).encode(), typed.encode())
        if good and step > last:
            return step
    return None


def use_code(session: Session, person: Person, code: str, at: datetime) -> bool:
    """Return whether the code is valid; it is spent in the same transaction, so it counts once."""
    step = step_of(person.totp_secret, code, at, person.totp_last)
    if step is None:
        return False
    done = session.execute(
        sa.update(Person)
        .where(Person.id == person.id, Person.totp_last < step)
        .values(totp_last=step)
        .execution_options(synchronize_session="fetch")
    )
    assert isinstance(done, sa.CursorResult)
    return done.rowcount == 1


def use_recovery_code(session: Session, person: Person, code: str) -> bool:
    """Return whether it is a recovery code of this person's; it is deleted, so it counts once."""
    own = sa.and_(
        RecoveryCode.person_id == person.id, RecoveryCode.code_hash == _hash_of(person.id, code)
    )
    done = session.execute(sa.delete(RecoveryCode).where(own))
    assert isinstance(done, sa.CursorResult)
    return done.rowcount == 1


@transactional
def new_recovery_codes(unit: UnitOfWork, session: Session, person_id: int) -> tuple[str, ...]:
    """Return fresh codes for the day when the authenticator is lost; the old ones are gone.

    They are told once: the database has only their SHA-256.
    """
    codes = tuple(pick("0123456789", DIGITS, unit.random_bytes) for _ in range(RECOVERY_CODES))
    session.execute(sa.delete(RecoveryCode).where(RecoveryCode.person_id == person_id))
    session.add_all(
        RecoveryCode(code_hash=_hash_of(person_id, code), person_id=person_id, made_at=unit.now())
        for code in codes
    )
    record(session, unit.now(), person_id, AuditVerb.RECOVERY_CODES)
    return codes


@read_only
def recovery_codes_left(_unit: UnitOfWork, session: Session, person_id: int) -> int:
    """Return how many recovery codes of a person were not used yet."""
    own = sa.select(sa.func.count()).where(RecoveryCode.person_id == person_id)
    return session.scalar(own) or 0


def _hash_of(person_id: int, code: str) -> str:
    plain = "".join(code.split())
    return hashlib.sha256(f"{person_id}:{plain}".encode()).hexdigest()


def switch_on(unit: UnitOfWork, person_id: int, secret: str, code: str) -> tuple[str, ...]:
    """Enable the second factor, once a first code shows that the authenticator has it.

    Return its recovery codes.
    """
    at = unit.now()
    keys = [f"code:{person_id}"]
    unit.write(lambda session: count_a_try(session, keys, at))
    step = step_of(secret, code, at, 0)
    if step is None:
        raise Refused(
            Message("This code is wrong. Wait for the next one and type that."), key="code"
        )
    _put_factor(unit, person_id, secret, step, keys)
    return new_recovery_codes(unit, person_id)


@transactional
def _put_factor(
    unit: UnitOfWork, session: Session, person_id: int, secret: str, step: int, keys: list[str]
) -> None:
    person = staff_sessions.load_person(session, person_id)
    person.totp_secret, person.totp_last = secret, step
    forget(session, keys)
    record(session, unit.now(), person_id, AuditVerb.SECOND_FACTOR_ON, person.login)


@transactional
def switch_off(unit: UnitOfWork, session: Session, person_id: int, *, who: int) -> None:
    """Disable the second factor: one's own, or by the office for a lost telephone."""
    person = staff_sessions.load_person(session, person_id)
    person.totp_secret = ""
    session.execute(sa.delete(RecoveryCode).where(RecoveryCode.person_id == person_id))
    record(session, unit.now(), who, AuditVerb.SECOND_FACTOR_OFF, person.login)
