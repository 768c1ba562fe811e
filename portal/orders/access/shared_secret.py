"""Whether the machines that share a database share the secret as well.

With different ones a form that one machine gave out is refused by another. The database keeps a
fingerprint of the secret, which tells nothing of it.
"""

import hmac
from hashlib import sha256

from sqlalchemy.orm import Session

from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.store.tables import SecretFingerprint

ONLY = 1  # the key of the one row
PURPOSE = b"fingerprint of the shared secret"


def fingerprint_of(secret: str) -> str:
    return hmac.new(secret.encode(), PURPOSE, sha256).hexdigest()


@read_only
def is_shared_secret(_unit: UnitOfWork, session: Session, secret: str) -> bool:
    """Return whether the database knows this secret, or none yet."""
    row = session.get(SecretFingerprint, ONLY)
    return row is None or hmac.compare_digest(row.fingerprint, fingerprint_of(secret))


@transactional
def share_secret(
    _unit: UnitOfWork, session: Session, secret: str, *, in_place_of_another: bool = False
) -> bool:
    """Record the secret where there is none, or another one is to go; whether it is shared now."""
    row = session.get(SecretFingerprint, ONLY)
    if row is None:
        session.add(SecretFingerprint(id=ONLY, fingerprint=fingerprint_of(secret)))
    elif in_place_of_another:
        row.fingerprint = fingerprint_of(secret)
    return row is None or hmac.compare_digest(row.fingerprint, fingerprint_of(secret))
