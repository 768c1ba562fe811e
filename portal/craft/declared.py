"""What a customer told, as a table of keys: read from order files, drafts and jobs, and written.

One shape for TOML files and JSON columns, `craft.parts.Declared`. A draft may lack what has not
been asked yet (finish, size, metal); what is there is always checked. `rim` and `tyre` may be the
marking as a text, as a person reads it off the part, or the table that `write_declared` writes.
"""

from collections.abc import Mapping
from typing import Any

from portal.craft import reading
from portal.craft.markings import read_rim, read_tyre
from portal.craft.messages import CraftError, Message
from portal.craft.parts import Closed, Declared, PartKind, PartSet, Rim, Tyre
from portal.craft.schema import MOST_LINES

MOST_WHEELS = 40
LONGEST_MARKING = 200
KEYS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
ONLY_WHEELS = ("build", "face", "rim", "tyre")
NO_WHEELS = ("what", "made", "closed")


def read_declared(source: Mapping[str, Any]) -> Declared:
    """Read a whole order; raise CraftError naming the key, such as `sets[0].count`."""
    sets = source.get("sets") if isinstance(source, Mapping) else None
    if not isinstance(sets, list | tuple):
        return reading.read(Declared, source)
    understood = [_understood(one, i) for i, one in enumerate(sets[:MOST_LINES])]
    declared = reading.read(Declared, {**source, "sets": understood})
    keys: set[str] = set()
    for i, one in enumerate(declared.sets):
        _check(one, understood[i], f"sets[{i}]")
        if one.key in keys:
            raise CraftError(
                Message("Two sets have the same key. Give each its own."), key=f"sets[{i}].key"
            )
        keys.add(one.key)
    return declared


def write_declared(declared: Declared) -> dict[str, Any]:
    """Write an order in the shape that `read_declared` reads, without what says nothing."""
    return reading.write(declared)


def _understood(one: Any, number: int) -> Any:
    """Return a set with a key, and with its markings read."""
    if not isinstance(one, Mapping):
        return one
    keyed = {"key": KEYS[number % len(KEYS)], **one}
    for name, reader in (("rim", _rim), ("tyre", _tyre)):
        marking = one.get(name)
        if isinstance(marking, str):
            if len(marking) > LONGEST_MARKING:
                raise CraftError(reading.too_long(LONGEST_MARKING), key=f"sets[{number}].{name}")
            keyed[name] = reader(marking, f"sets[{number}].{name}")
            keyed[f"{name}_text"] = one.get(f"{name}_text") or marking
    return keyed


def _rim(marking: str, key: str) -> Rim:
    read = read_rim(marking)
    if read.rim is None or read.impossible:
        unread = Message("We can't read this rim marking. Write it like 8J x 18 ET35.")
        raise CraftError(next(iter(read.impossible), read.where or unread), key=key)
    return read.rim


def _tyre(marking: str, key: str) -> Tyre:
    read = read_tyre(marking)
    if read.tyre is None or read.impossible:
        unread = Message("We can't read this tyre size. Write it like 225/45 R17 94W.")
        raise CraftError(next(iter(read.impossible), read.where or unread), key=key)
    return read.tyre


def _check(one: PartSet, written: Mapping[str, Any], at: str) -> None:
    """Refuse what can't stand together in one set."""
    if not one.key.isascii() or not one.key.isalnum():
        sentence = Message("A set's key can have up to eight letters and digits.")
        raise CraftError(sentence, key=f"{at}.key")
    wheel = one.kind is PartKind.WHEEL
    for name in NO_WHEELS if wheel else ONLY_WHEELS:
        if written.get(name) is not None:
            sentence = (
                Message("Wheels don't have this. Leave it out here.")
                if wheel
                else Message("Only wheels have this. Leave it out here.")
            )
            raise CraftError(sentence, key=f"{at}.{name}")
    if wheel and one.count > MOST_WHEELS:
        raise CraftError(reading.whole_span(1, MOST_WHEELS), key=f"{at}.count")
    if Closed.NONE in one.closed and len(one.closed) > 1:
        sentence = Message("“None” can't stand beside another answer.")
        raise CraftError(sentence, key=f"{at}.closed")
