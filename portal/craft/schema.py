"""Tables of keys that a person or a form wrote, read into shapes that say what they may hold.

A shape is a frozen dataclass derived from `Table`. Its types, and what stands beside them in
`Annotated`, are all that reading, writing and the office's forms know of a document: limits, and a
`Label` with the words for a key. Pydantic checks; what it finds becomes one of our sentences.
"""

import dataclasses
import types
import unicodedata
from collections import abc
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from enum import Enum
from functools import lru_cache
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from pydantic import (
    AfterValidator,
    BeforeValidator,
    ConfigDict,
    PlainSerializer,
    Strict,
)
from pydantic import Field as Limits
from pydantic.fields import FieldInfo

from portal.craft.messages import CraftError, Message

MOST_LINES = 60


class Table:
    """A table of keys; a key that the shape does not name is refused."""

    __slots__ = ()
    __pydantic_config__ = ConfigDict(extra="forbid")


@dataclass(frozen=True, slots=True)
class Label:
    """The words for a field where people fill it in, and the unit that stands behind it.

    `long` wants several lines; `rare` is asked for only where it is used already.
    """

    title: Message | Enum
    unit: Message | str = ""
    long: bool = False
    rare: bool = False


@dataclass(frozen=True, slots=True)
class AskedWords:
    """The words of a table by words that a sheet asks for, in their order."""

    words: tuple[Enum, ...]


NO_LIST = Message("Write this as a list in square brackets.")
# beside a type: no sheet shows it, a page of its own changes it
ELSEWHERE = object()


def whole(low: int, high: int) -> Any:
    """Return the limits of a whole number."""
    return Limits(strict=True, ge=low, le=high)


def number(low: float, high: float) -> Any:
    """Return the limits of a finite number."""
    return Limits(strict=True, ge=low, le=high, allow_inf_nan=False)


def amount(low: int = 0, high: int = 1_000_000) -> Any:
    """Return the limits of an exact decimal."""
    return Limits(ge=low, le=high)


def longest(count: int) -> Any:
    """Return the limit of a text's length, or of a list's."""
    return Limits(max_length=count)


def _printable(text: str) -> str:
    if any(unicodedata.category(ch) in {"Cc", "Cs"} and ch not in ("\n", "\t") for ch in text):
        raise CraftError(Message("Remove the characters that can't be printed."))
    return text


def exact(value: object) -> Decimal:
    """Return an exact decimal, written as a text ("62.50") or a whole number; never a float."""
    if isinstance(value, bool) or not isinstance(value, int | str | Decimal):
        raise CraftError(Message("Write this figure in quotes, like “62.50”."))
    try:
        return Decimal(value)
    except InvalidOperation:
        raise CraftError(Message("Enter an amount like “62.50”.")) from None


def _day(value: object) -> date:
    try:
        return date.fromisoformat(str(value))
    except ValueError:
        raise CraftError(Message("Enter a date like 2026-06-01.")) from None


def listed(value: Any) -> list[Any] | tuple[Any, ...]:
    """Return a list as it is; refuse anything else."""
    if not isinstance(value, list | tuple):
        raise CraftError(NO_LIST)
    return value


def three_sides(value: Any) -> Any:
    """Return a size to be read on, if it has three sides."""
    if value is not None and (not isinstance(value, list | tuple) or len(value) != 3):
        raise CraftError(Message("Enter length, width and height in mm."))
    return value


def _once(words: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple(dict.fromkeys(words))


Text = Annotated[str, Strict(), AfterValidator(_printable)]
Plain = Annotated[str, Strict()]
Flag = Annotated[bool, Strict()]
Exact = Annotated[Decimal, BeforeValidator(exact)]
Day = Annotated[date, BeforeValidator(_day)]
Moment = Annotated[
    datetime, BeforeValidator(datetime.fromisoformat), PlainSerializer(datetime.isoformat)
]
Once = (longest(MOST_LINES), AfterValidator(_once))


@dataclass(frozen=True, slots=True)
class TableKey:
    """One key of a table: its type without what stands beside it, that, and its usual value."""

    key: str
    kind: Any
    marks: tuple[Any, ...] = ()
    usual: Any = None

    @property
    def label(self) -> Label | None:
        """The words for it, where it has any."""
        return next((one for one in self.marks if isinstance(one, Label)), None)

    @property
    def long(self) -> bool:
        """Whether it wants several lines."""
        return self.label is not None and self.label.long

    @property
    def rare(self) -> bool:
        """Whether it is asked for only where it is used already."""
        return self.label is not None and self.label.rare

    @property
    def span(self) -> tuple[Any, Any]:
        """The limits of a number; 0 where there is none."""
        low = next((one.ge for one in self.marks if hasattr(one, "ge")), 0)
        return low, next((one.le for one in self.marks if hasattr(one, "le")), 0)

    @property
    def is_word(self) -> bool:
        """Whether it is one of several words."""
        return isinstance(self.kind, type) and issubclass(self.kind, Enum)

    @property
    def row(self) -> "TableKey | None":
        """One of the alike tables, where it is a list of them."""
        if get_origin(self.kind) is not tuple:
            return None
        kind, marks = bare(get_args(self.kind)[0])
        return TableKey("", kind, marks) if is_table(kind) else None

    @property
    def keys(self) -> "Mapping[str, TableKey]":
        """What it may hold, by key, where it is a table: of a shape, or by words."""
        if is_table(self.kind):
            return entries(self.kind)
        words = _words_of(self.kind)
        if not words:
            return {}
        kind, marks = bare(get_args(self.kind)[1])
        return {str(w.value): TableKey(str(w.value), kind, (Label(w), *marks)) for w in words}

    @property
    def asked(self) -> "list[TableKey]":
        """The keys that a sheet asks for: none that a page of its own changes."""
        only = {
            str(word.value)
            for one in self.marks
            if isinstance(one, AskedWords)
            for word in one.words
        }
        return [
            entry
            for key, entry in self.keys.items()
            if ELSEWHERE not in entry.marks and (not only or key in only)
        ]

    @property
    def is_flat(self) -> bool:
        """Whether it is a table of single values, which can be a row of a grid."""
        asked = self.asked
        return any(not one.row for one in asked) and all(
            one.row or not (one.keys or get_origin(one.kind) is tuple) for one in asked
        )

    @property
    def is_grid(self) -> bool:
        """Whether it is a table of tables that hold the same single values."""
        asked = self.asked
        return bool(asked) and asked[0].is_flat and all(one.kind == asked[0].kind for one in asked)


@lru_cache(maxsize=256)
def entries(shape: Any) -> Mapping[str, TableKey]:
    """Return what a shape may hold, by key, in its order."""
    hints = get_type_hints(shape, include_extras=True)
    found = {}
    for one in dataclasses.fields(shape):
        info = FieldInfo.from_annotation(hints[one.name])
        kind, marks = bare(info.annotation)
        key = info.alias or one.name
        usual = None if one.default is dataclasses.MISSING else one.default
        found[key] = TableKey(key, kind, (*info.metadata, *marks), usual)
    return found


def is_table(kind: Any) -> bool:
    """Tell whether a type is a table with keys of its own."""
    return isinstance(kind, type) and issubclass(kind, Table)


def bare(kind: Any) -> tuple[Any, tuple[Any, ...]]:
    """Return a type without `None` and `Annotated`, and what stood beside it."""
    if get_origin(kind) is Annotated:
        inner, *marks = get_args(kind)
        found, more = bare(inner)
        return found, (*marks, *more)
    if get_origin(kind) in (types.UnionType, Union):
        (one,) = (arg for arg in get_args(kind) if arg is not types.NoneType)
        return bare(one)
    return kind, ()


def inside(kind: Any, step: str | int) -> tuple[Any, tuple[Any, ...]]:
    """Return the type of what stands at a key or at a place of a list."""
    if is_table(kind):
        entry = entries(kind).get(str(step))
        return (entry.kind, entry.marks) if entry else (object, ())
    args = get_args(kind)
    if get_origin(kind) is tuple:
        return bare(args[0])
    return bare(args[1]) if len(args) == 2 else (object, ())


def words_of(kind: Any) -> tuple[str, ...]:
    """Return the keys that a shape or a table by words may have."""
    return tuple(TableKey("", kind).keys)


def _words_of(kind: Any) -> Iterable[Enum]:
    words, _ = bare(next(iter(get_args(kind)), str))
    by_words = get_origin(kind) is abc.Mapping and issubclass(words, Enum)
    return words if by_words else ()
