"""Column types that refuse unsafe values."""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any

import sqlalchemy as sa
from sqlalchemy.types import TypeDecorator

from portal.craft.message_json import from_json, to_json
from portal.craft.messages import Message
from portal.shop.moves import JobState
from portal.shop.route import PartStage


class UtcDateTime(TypeDecorator[datetime]):
    """An aware datetime, stored in UTC. A naive one is refused."""

    impl = sa.DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: sa.Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            msg = f"a naive time must not reach the store: {value!r}"
            raise ValueError(msg)
        value = value.astimezone(UTC)
        # SQLite keeps no zone: what is written is UTC by this rule
        return value.replace(tzinfo=None) if dialect.name == "sqlite" else value

    def process_result_value(self, value: datetime | None, dialect: sa.Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


# a text that was kept before messages were, as one; it is the same in every language
VERBATIM = "{text}"


def verbatim(text: str) -> Message:
    """Return a text as a message that says it as it stands."""
    return Message(VERBATIM, text=text)


def is_verbatim(message: Message) -> bool:
    """Whether a message only repeats a text."""
    return message.msgid == VERBATIM


@lru_cache(maxsize=4096)
def _message_of(text: str) -> Message:
    """Read a stored message; many rows have the same, and none ever changes."""
    return from_json(json.loads(text))


class MessageText(TypeDecorator[Message]):
    """A message with its values, kept as JSON, so that it can be rendered in any language."""

    impl = sa.Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: sa.Dialect) -> str | None:
        """Keep the template and the values; refuse a text that is already rendered."""
        if value is None:
            return None
        if not isinstance(value, Message):
            msg = f"a column of messages keeps no rendered text: {value!r}"
            raise TypeError(msg)
        return json.dumps(to_json(value), ensure_ascii=False)

    def process_result_value(self, value: str | None, dialect: sa.Dialect) -> Message | None:
        """Give back the message."""
        return None if value is None else _message_of(value)


STATES: Mapping[str, JobState | PartStage] = {
    **{str(state): state for state in JobState},
    **{str(stage): stage for stage in PartStage},
}


class StateWord(TypeDecorator[JobState | PartStage]):
    """The state of a job or the stage of a part; None, before its first, is stored as ''."""

    impl = sa.String(24)
    cache_ok = True

    @staticmethod
    def known(column: str) -> sa.CheckConstraint:
        """Return the rule that a column holds one of these words."""
        words = ", ".join(f"'{word}'" for word in ("", *STATES))
        return sa.CheckConstraint(f"{column} IN ({words})", name=column)

    def process_bind_param(self, value: str | None, dialect: sa.Dialect) -> str:
        """Store the word."""
        return "" if value is None else str(value)

    def process_result_value(self, value: str | None, dialect: sa.Dialect) -> Any:
        """Give back the member."""
        return STATES[value] if value else None
