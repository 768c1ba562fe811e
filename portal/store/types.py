"""Column types that refuse what would hurt later."""

import json
from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.types import TypeDecorator

from portal.craft.messages import Message
from portal.shop.message_json import from_json, to_json


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


class SentenceText(TypeDecorator[str]):
    """A message with its values, kept as JSON, so that it can be rendered in any language.

    A plain text is kept, and given back, as it stands.
    """

    impl = sa.Text
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: sa.Dialect) -> str | None:
        """Keep the template and the values of a message."""
        return (
            json.dumps(to_json(value), ensure_ascii=False) if isinstance(value, Message) else value
        )

    def process_result_value(self, value: str | None, dialect: sa.Dialect) -> str | None:
        """Give back the message."""
        if value is None or not value.startswith('{"msgid"'):
            return value
        return from_json(json.loads(value))
