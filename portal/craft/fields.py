"""Reading a table of keys that a person or a form wrote, with errors that name the key.

Used for order files, drafts and the shop's own documents. Each getter takes a key, checks it and
returns a plain value; `close` refuses whatever nobody asked for, so a misspelt key never passes.
"""

import math
import unicodedata
from collections.abc import Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from typing import Any, TypeVar

from portal.craft.messages import CraftError, Message
from portal.craft.parts import Titled

Word = TypeVar("Word", bound=Titled)


def refuse(sentence: Message, key: str) -> CraftError:
    """Return the error for `key`, to be raised."""
    return CraftError(sentence, key=key)


class Fields:
    """One table. `at` is its own path (`sets[0].finish`), empty for the outermost."""

    def __init__(self, source: object, at: str = "") -> None:
        if not isinstance(source, Mapping):
            raise refuse(Message("Write this as a table of keys and values."), at)
        self.source: Mapping[Any, Any] = source
        self.at = at
        self.asked: set[str] = set()

    def path(self, key: str) -> str:
        """Return the whole path of `key`."""
        return f"{self.at}.{key}" if self.at else key

    def has(self, key: str) -> bool:
        """Tell whether `key` is there; null counts as not there."""
        return self.raw(key) is not None

    def raw(self, key: str) -> Any:
        """Return what stands at `key`, or None, and count it as asked for."""
        self.asked.add(key)
        return self.source.get(key)

    def close(self) -> None:
        """Refuse the first key that nobody asked for, with the nearest one that exists."""
        for key in self.source:
            if key in self.asked:
                continue
            near = get_close_matches(str(key)[:60], sorted(self.asked), n=1)
            if near:
                raise refuse(
                    Message(
                        "There is no key “{key}” here. Did you mean “{near}”?",
                        key=str(key)[:60],
                        near=near[0],
                    ),
                    self.path(str(key)[:60]),
                )
            raise refuse(
                Message(
                    "There is no key “{key}” here. Use one of these: {known}.",
                    key=str(key)[:60],
                    known=", ".join(sorted(self.asked)),
                ),
                self.path(str(key)[:60]),
            )

    def text(self, key: str, default: str = "", *, longest: int = 200) -> str:
        """Return a text of at most `longest` characters, without control characters."""
        value = self.raw(key)
        if value is None:
            return default
        if not isinstance(value, str):
            raise refuse(Message("Put this text in quotes."), self.path(key))
        if len(value) > longest:
            raise refuse(Message("Use at most {n} characters.", n=longest), self.path(key))
        if any(unicodedata.category(ch) in {"Cc", "Cs"} and ch not in "\n\t" for ch in value):
            raise refuse(Message("Remove the characters that can't be printed."), self.path(key))
        return value

    def flag(self, key: str, *, default: bool = False) -> bool:
        """Return true or false."""
        value = self.raw(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            raise refuse(Message("Enter true or false."), self.path(key))
        return value

    def whole(self, key: str, low: int, high: int, default: int | None = None) -> int | None:
        """Return a whole number from `low` to `high`, or the default where the key is missing."""
        value = self.raw(key)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise refuse(
                Message("Enter a whole number from {low} to {high}.", low=low, high=high),
                self.path(key),
            )
        return value

    def need_whole(self, key: str, low: int, high: int) -> int:
        """Return a whole number that must be there."""
        value = self.whole(key, low, high)
        if value is None:
            raise self.missing(key)
        return value

    def number(self, key: str, low: float, high: float) -> float | None:
        """Return a number from `low` to `high`, or None where the key is missing."""
        value = self.raw(key)
        return None if value is None else number(value, low, high, self.path(key))

    def need_number(self, key: str, low: float, high: float) -> float:
        """Return a number that must be there."""
        value = self.number(key, low, high)
        if value is None:
            raise self.missing(key)
        return value

    def decimal(
        self, key: str, default: str | None = None, *, low: int = 0, high: int = 1_000_000
    ) -> Decimal:
        """Return an exact decimal, written as a text ("62.50") or a whole number; never a float."""
        value = self.raw(key)
        if value is None:
            if default is None:
                raise self.missing(key)
            value = default
        return decimal(value, self.path(key), low=low, high=high)

    def day(self, key: str) -> date | None:
        """Return a day, written as a TOML date or as a text like "2026-06-01"."""
        value = self.raw(key)
        if value is None:
            return None
        try:
            return date.fromisoformat(str(value))
        except ValueError:
            raise refuse(Message("Enter a date like 2026-06-01."), self.path(key)) from None

    def word(self, key: str, kind: type[Word]) -> Word | None:
        """Return one word of `kind`, or None where the key is missing."""
        value = self.raw(key)
        return None if value is None else word(value, kind, self.path(key))

    def need_word(self, key: str, kind: type[Word]) -> Word:
        """Return one word of `kind` that must be there."""
        found = self.word(key, kind)
        if found is None:
            raise self.missing(key)
        return found

    def words(self, key: str, kind: type[Word]) -> tuple[Word, ...]:
        """Return a list of words of `kind`, each at most once, in the order given."""
        found: dict[Word, None] = {}
        for i, value in enumerate(self.entries(key)):
            found[word(value, kind, f"{self.path(key)}[{i}]")] = None
        return tuple(found)

    def entries(self, key: str, *, longest: int = 60) -> list[Any]:
        """Return a list of at most `longest` entries; a missing key is an empty one."""
        value = self.raw(key)
        if value is None:
            return []
        if not isinstance(value, list | tuple) or len(value) > longest:
            raise refuse(Message("Enter at most {n} lines.", n=longest), self.path(key))
        return [*value]

    def table(self, key: str) -> "Fields | None":
        """Return the table at `key`, or None where it is missing."""
        value = self.raw(key)
        return None if value is None else Fields(value, self.path(key))

    def tables(self, key: str, *, longest: int = 60) -> "list[Fields]":
        """Return the tables of the list at `key`."""
        return [
            Fields(value, f"{self.path(key)}[{i}]")
            for i, value in enumerate(self.entries(key, longest=longest))
        ]

    def missing(self, key: str) -> CraftError:
        """Return the error for a key that must be there."""
        return refuse(Message("“{key}” is missing here.", key=key), self.path(key))


def word(value: object, kind: type[Word], path: str) -> Word:
    """Return `value` as a word of `kind`."""
    known = [str(member.value) for member in kind]
    if isinstance(value, str) and value in known:
        return kind(value)
    near = get_close_matches(str(value).lower()[:60], known, n=1)
    if near:
        raise refuse(Message("We don't know this word. Did you mean “{near}”?", near=near[0]), path)
    raise refuse(Message("Enter one of these: {known}.", known=", ".join(known)), path)


def number(value: object, low: float, high: float, path: str) -> float:
    """Return `value` as a finite number from `low` to `high`."""
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    # compare before converting: an integer of a thousand digits is refused, not overflowed
    if plain and low <= value <= high and math.isfinite(value):  # type: ignore[operator, arg-type]  # `plain` says so
        return float(value)  # type: ignore[arg-type]  # `plain` says so
    raise refuse(Message("Enter a number from {low} to {high}.", low=low, high=high), path)


def decimal(value: object, path: str, *, low: int = 0, high: int = 1_000_000) -> Decimal:
    """Return `value` as an exact decimal from `low` to `high`."""
    if isinstance(value, bool) or not isinstance(value, int | str | Decimal):
        raise refuse(Message("Write this figure in quotes, like “62.50”."), path)
    try:
        found = Decimal(value)
    except InvalidOperation:
        raise refuse(Message("Enter an amount like “62.50”."), path) from None
    if not found.is_finite() or not low <= found <= high:
        raise refuse(Message("Enter an amount from {low} to {high}.", low=low, high=high), path)
    return found
