"""Sentences kept as JSON, so that an old job still says what it said, in any language."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from portal.craft.colour_names import ColourName
from portal.craft.messages import Message


def to_json(sentence: Message) -> dict[str, Any]:
    """Return the sentence as plain values: its template and what was filled in."""
    kept = {"msgid": sentence.msgid, "values": {k: _plain(v) for k, v in sentence.values.items()}}
    return {**kept, "many": sentence.many} if sentence.many else kept


def from_json(kept: Mapping[str, Any]) -> Message:
    """Return the sentence that `to_json` made plain."""
    values = {name: _retold(value) for name, value in kept["values"].items()}
    return Message.counted(kept["msgid"], kept.get("many", ""), values)


def _retold(value: Any) -> Any:
    if not isinstance(value, Mapping):
        return value
    return ColourName(value["colour"]) if "colour" in value else from_json(value)


def _plain(value: Any) -> Any:
    if isinstance(value, Message):
        return to_json(value)
    if isinstance(value, ColourName):
        return {"colour": str(value)}
    if value is None or type(value) in {bool, int, float, str}:
        return value
    if isinstance(value, Decimal):
        return format(value.normalize(), "f")
    return str(value)
