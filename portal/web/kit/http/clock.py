"""The only clock: everything below gets the time as an argument."""

from datetime import UTC, datetime


def now() -> datetime:
    """Return the present moment, aware, in UTC."""
    return datetime.now(UTC)  # this is the one clock
