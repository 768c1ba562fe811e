"""Opens the portal's database for a verb: settings in, a `UnitOfWork` out."""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager

from portal.orders.kernel.unit import UnitOfWork, open_unit
from portal.settings import Settings
from portal.web.kit.http.clock import now


@contextmanager
def opened(settings: Settings) -> Iterator[UnitOfWork]:
    """Yield a unit of work over the settings' database, with the real clock and randomness."""
    unit = open_unit(
        settings.database_url,
        now=now,
        random_bytes=secrets.token_bytes,
        base_url=settings.base_url,
    )
    try:
        yield unit
    finally:
        unit.close()
