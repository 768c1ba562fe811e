"""Changes to one's own sign-in; each requires the current password."""

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.access import staff_sessions
from portal.orders.access.passwords import fits, hashed, must_be_a_pin, must_be_good
from portal.orders.access.rate_limit import count_a_try, forget
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.verbs import AuditVerb
from portal.store.tables import Person


def must_know_password(unit: UnitOfWork, person_id: int, password: str) -> None:
    """Raise `Refused` unless this is the person's password; failures are rate-limited."""
    keys = [f"word:{person_id}"]
    if not fits(_hash_for_a_try(unit, person_id, keys), password):
        raise Refused(Message("This is not your password. Try again."), key="password")
    unit.write(lambda session: forget(session, keys))


@transactional
def _hash_for_a_try(unit: UnitOfWork, session: Session, person_id: int, keys: list[str]) -> str:
    count_a_try(session, keys, unit.now())
    return session.get_one(Person, person_id).password_hash


def change_password(unit: UnitOfWork, person_id: int, *, old: str, new: str, here: str) -> None:
    """Set a new password and sign out every other device; `here` is this one's key."""
    must_know_password(unit, person_id, old)
    with unit.read() as session:
        person = session.get_one(Person, person_id)
    try:
        must_be_good(new, login=person.login, with_code=bool(person.totp_secret))
    except Refused as refusal:
        raise Refused(refusal.sentence, key="new_password") from None
    _put_password(unit, person_id, hashed(new), here)


@transactional
def _put_password(
    unit: UnitOfWork, session: Session, person_id: int, secret: str, here: str
) -> None:
    row = session.get_one(Person, person_id)
    row.password_hash = secret
    staff_sessions.end_all(session, person_id, but=here)
    record(session, unit.now(), person_id, AuditVerb.NEW_PASSWORD, row.login)


def set_pin(unit: UnitOfWork, person_id: int, *, password: str, pin: str) -> None:
    """Set the PIN that opens a shared device; an empty one removes it."""
    must_know_password(unit, person_id, password)
    if pin:
        must_be_a_pin(pin)
    _put_pin(unit, person_id, hashed(pin) if pin else "")


@transactional
def _put_pin(unit: UnitOfWork, session: Session, person_id: int, secret: str) -> None:
    row = session.get_one(Person, person_id)
    row.pin_hash = secret
    record(
        session,
        unit.now(),
        person_id,
        AuditVerb.NEW_PIN if secret else AuditVerb.PIN_OFF,
        row.login,
    )


@read_only
def has_pin(_unit: UnitOfWork, session: Session, person_id: int) -> bool:
    """Return whether a person may open a locked device."""
    return bool(session.get_one(Person, person_id).pin_hash)
