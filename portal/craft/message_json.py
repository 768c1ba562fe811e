"""Messages kept as JSON, so that an old job still says what it said, in any language.

A value that is no plain one is kept as `{its kind: what it is made of}`; a floor above adds kinds
of its own with `also_keep`. The schema reads and writes the messages of a shape by these rules.
"""

from collections.abc import Callable, Iterable, Mapping, MutableMapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from portal.craft.colour_names import ColourName
from portal.craft.messages import Message, Phone, Sentences
from portal.craft.quantities import Box, Quantity, Span, Unit
from portal.craft.titled import Titled

PLAIN = frozenset({bool, int, float, str, type(None)})


def to_json(message: Message) -> dict[str, Any]:
    """Return the message as plain values: its template and what is filled in."""
    values = {name: _kept(value) for name, value in message.values.items()}
    stored = {"msgid": message.msgid, "values": values}
    return {**stored, "many": message.many} if message.many else stored


def from_json(stored: Mapping[str, Any]) -> Message:
    """Return the message that `to_json` made plain."""
    values = {name: _read(value) for name, value in stored["values"].items()}
    return Message.counted(stored["msgid"], stored.get("many", ""), values)


def _kept(value: Any) -> Any:
    if type(value) in PLAIN:
        return value
    if isinstance(value, Message):
        return to_json(value)
    for name, (kind, keep, _) in KINDS.items():
        if isinstance(value, kind):
            return {name: keep(value)}
    msg = f"a message can't keep {value!r}"
    raise TypeError(msg)


def _read(value: Any) -> Any:
    if not isinstance(value, Mapping):
        return value
    if "msgid" in value:
        return from_json(value)
    ((name, made_of),) = value.items()
    _, _, read = KINDS[name]
    return read(made_of)


def _figure(value: Any) -> Any:
    return {"decimal": str(value)} if isinstance(value, Decimal) else value


def _members() -> Iterable[type[Titled]]:
    open_ = [Titled]
    while open_:
        one = open_.pop()
        yield one
        open_ += one.__subclasses__()


def _member(made_of: Any) -> Titled:
    name, value = made_of
    return next(one for one in _members() if one.__name__ == name)(value)


Kind = tuple[Any, Callable[[Any], Any], Callable[[Any], Any]]
KINDS: MutableMapping[str, Kind] = {
    "colour": (ColourName, str, ColourName),
    "word": (Titled, lambda one: [type(one).__name__, one.value], _member),
    "phone": (Phone, lambda one: one.number, Phone),
    "quantity": (
        Quantity,
        lambda one: [_figure(one.value), one.unit.value],
        lambda made_of: Quantity(_read(made_of[0]), Unit(made_of[1])),
    ),
    "span": (
        Span,
        lambda one: [_figure(one.low), _figure(one.high), one.unit.value],
        lambda made_of: Span(_read(made_of[0]), _read(made_of[1]), Unit(made_of[2])),
    ),
    "box": (
        Box,
        lambda one: [_figure(side) for side in one.sides],
        lambda made_of: Box(tuple(_read(side) for side in made_of)),
    ),
    "decimal": (Decimal, str, Decimal),
    "moment": (datetime, datetime.isoformat, datetime.fromisoformat),
    "day": (date, date.isoformat, date.fromisoformat),
    "sentences": (
        Sentences,
        lambda one: [to_json(message) for message in one.messages],
        lambda made_of: Sentences(tuple(map(from_json, made_of))),
    ),
    "list": (
        (list, tuple),
        lambda one: [_kept(value) for value in one],
        lambda made_of: tuple(_read(value) for value in made_of),
    ),
}


def also_keep(
    name: str, kind: type[Any], keep: Callable[[Any], Any], read: Callable[[Any], Any]
) -> None:
    """Let messages keep another kind of value: by `keep` as plain values, back by `read`."""
    KINDS[name] = (kind, keep, read)


Message.written_by, Message.read_by = staticmethod(to_json), staticmethod(from_json)
