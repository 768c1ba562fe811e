"""Opens the house: a database address in, a `UnitOfWork` out."""

from collections.abc import Callable
from datetime import datetime

from portal.orders.kernel.unit import UnitOfWork
from portal.shop.codes import RandomBytes
from portal.store.engine import make_engine, make_sessions


def open_unit(
    database_url: str,
    *,
    now: Callable[[], datetime],
    random_bytes: RandomBytes,
    base_url: str,
) -> UnitOfWork:
    """Return a unit over the database at `database_url`."""
    return UnitOfWork(
        sessions=make_sessions(make_engine(database_url)),
        now=now,
        random_bytes=random_bytes,
        base_url=base_url,
    )
