"""All machines over one database share the secret; the database knows its fingerprint alone."""

import sqlalchemy as sa

from portal.orders.access.shared_secret import is_shared_secret, share_secret
from portal.store.tables import SecretFingerprint

ONE, OTHER = "a" * 40, "b" * 40


def test_another_secret_is_not_shared_until_it_takes_the_place(unit) -> None:
    assert is_shared_secret(unit, ONE)
    assert share_secret(unit, ONE)
    assert share_secret(unit, ONE)
    assert not share_secret(unit, OTHER)
    assert not is_shared_secret(unit, OTHER)
    assert share_secret(unit, OTHER, in_place_of_another=True)
    assert is_shared_secret(unit, OTHER)
    assert not is_shared_secret(unit, ONE)
    with unit.read() as session:
        (kept,) = session.scalars(sa.select(SecretFingerprint.fingerprint)).all()
    assert OTHER not in kept
