"""Column types that refuse what would hurt later."""

from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.types import TypeDecorator


class UtcDateTime(TypeDecorator[datetime]):
    """An aware datetime, stored in UTC. A naive one is refused at the door."""

    impl = sa.DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: sa.Dialect) -> datetime | None:
        """Refuse naive times; store the rest in UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            msg = f"a naive time must not reach the store: {value!r}"
            raise ValueError(msg)
        value = value.astimezone(UTC)
        # SQLite keeps no zone: what is written is UTC by this rule
        return value.replace(tzinfo=None) if dialect.name == "sqlite" else value

    def process_result_value(self, value: datetime | None, dialect: sa.Dialect) -> datetime | None:
        """Give back an aware UTC time."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
