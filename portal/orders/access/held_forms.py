"""Forms that were sent after the sign-in had ended: kept for ten minutes, sent again on request."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.access.staff_sessions import key_hash, new_key
from portal.orders.kernel.errors import Expired
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.store.tables import HeldForm

KEPT_FOR = timedelta(minutes=10)
# never kept: what is secret, and what the page gets anew
SECRET = frozenset({"csrf_token", "password", "new_password", "again", "pin", "code"})
# kept, and nothing that a person has typed
HIDDEN = frozenset({"once", "expected_event_id", "expected_edition_id", "expected_version"})
MOST_FIELDS, LONGEST_FIELD = 400, 4000


@dataclass(frozen=True, slots=True)
class Held:
    """The form's address and its values."""

    path: str
    fields: tuple[tuple[str, str], ...]

    @property
    def typed(self) -> tuple[tuple[str, str], ...]:
        """What a person would know again: not the hidden tokens."""
        return tuple((name, text) for name, text in self.fields if text and name not in HIDDEN)


@transactional
def hold_form(
    unit: UnitOfWork, session: Session, path: str, fields: Sequence[tuple[str, str]]
) -> str:
    """Save a form and return the key for its sender."""
    key, at = new_key(unit)[:32], unit.now()
    lasting = [
        [name[:80], text[:LONGEST_FIELD]]
        for name, text in fields[:MOST_FIELDS]
        if name not in SECRET
    ]
    session.execute(sa.delete(HeldForm).where(HeldForm.expires_at <= at))
    session.add(
        HeldForm(key_hash=key_hash(key), path=path[:400], fields=lasting, expires_at=at + KEPT_FOR)
    )
    return key


@read_only
def held_form(unit: UnitOfWork, session: Session, key: str) -> Held:
    """Return a saved form; raise `Expired` where there is none."""
    row = session.get(HeldForm, key_hash(key))
    if row is None or unit.now() >= row.expires_at:
        raise Expired(Message("We no longer have what you sent. Fill in the page again."))
    return Held(row.path, tuple((name, text) for name, text in row.fields))
