"""Read and write tables of keys by their shapes; refuse in our own sentences what does not fit."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from difflib import get_close_matches
from enum import Enum
from functools import cache
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from portal.craft import message_json
from portal.craft.messages import CraftError, Message
from portal.craft.schema import NO_LIST, TableKey, bare, inside, words_of

# messages are read and written as it says
__all__ = ["message_json", "read", "write"]
Shape = TypeVar("Shape")
LONGEST_KEY = 60


def read(shape: type[Shape], source: object, context: object = None) -> Shape:
    """Read a table; raise CraftError for the first thing that can't be, with its key.

    `context` is what a value needs besides, the currency of sums.
    """
    try:
        found: Shape = _adapter(shape).validate_python(source, context=context)
    except ValidationError as wrong:
        raise _refusal(shape, wrong.errors(include_url=False)[0]) from None
    return found


def write(value: Any, *, all_of_it: bool = False, but: Iterable[str] = ()) -> dict[str, Any]:
    """Write a table as plain JSON values; what says nothing beyond the usual is left out.

    Keys that are named in `but` are not written.
    """
    written: dict[str, Any] = _adapter(type(value)).dump_python(
        value, mode="json", by_alias=True, exclude_defaults=not all_of_it, exclude=set(but) or None
    )
    return written


def _adapter(shape: Any) -> TypeAdapter[Any]:
    """Return the reader of a shape, made when it is first needed."""
    return _made(shape)


@cache
def _made(shape: Any) -> TypeAdapter[Any]:
    return TypeAdapter(shape)


def path_of(steps: tuple[str | int, ...]) -> str:
    """Return the way to a value as errors name it: `sets[0].count`."""
    parts = (f"[{one}]" if isinstance(one, int) else f".{one}" for one in steps)
    return "".join(parts).removeprefix(".")


def _refusal(shape: Any, error: Any) -> CraftError:
    steps = error["loc"]
    by_key = bool(steps) and steps[-1] == "[key]"
    steps = steps[:-1] if by_key else steps
    if steps:
        steps = (*steps[:-1], steps[-1] if isinstance(steps[-1], int) else _short(steps[-1]))
    if error["type"] == "value_error":
        refused: CraftError = error["ctx"]["error"]
        between = "." if refused.key and steps and refused.key[0] != "[" else ""
        return CraftError(refused.sentence, key=f"{path_of(steps)}{between}{refused.key}")
    around: Any = shape
    kind, marks = bare(shape)
    for step in steps:
        around = kind
        kind, marks = inside(kind, step)
    if by_key or error["type"] in {"unexpected_keyword_argument", "invalid_key"}:
        steps = (*steps[:-1], str(steps[-1]))
        sentence = unknown_key(steps[-1], words_of(around))
    else:
        sentence = _sentence(error, kind, marks, steps)
    return CraftError(sentence, key=path_of(steps))


def _short(key: object) -> str:
    return str(key)[:LONGEST_KEY]


def missing(key: str) -> Message:
    """Return the sentence for a key that must be there."""
    return Message("“{key}” is missing here.", key=key)


def whole_span(low: int, high: int) -> Message:
    """Return the sentence for what is no whole number within two limits."""
    return Message("Enter a whole number from {low} to {high}.", low=low, high=high)


def number_span(low: float, high: float) -> Message:
    """Return the sentence for what is no number within two limits."""
    return Message("Enter a number from {low} to {high}.", low=low, high=high)


def amount_span(low: int, high: int) -> Message:
    """Return the sentence for an amount beyond two limits."""
    return Message("Enter an amount from {low} to {high}.", low=low, high=high)


def too_long(most: int) -> Message:
    """Return the sentence for a text that is too long."""
    return Message("Use at most {n} characters.", n=most)


def unknown_key(key: str, known: tuple[str, ...]) -> Message:
    """Return the sentence for a key that nobody knows, with the nearest one that exists."""
    near = get_close_matches(key, sorted(known), n=1)
    if near:
        return Message(
            "There is no key “{key}” here. Did you mean “{near}”?", key=key, near=near[0]
        )
    return Message(
        "There is no key “{key}” here. Use one of these: {known}.",
        key=key,
        known=", ".join(sorted(known)),
    )


def unknown_word(value: object, kind: type[Enum]) -> Message:
    """Return the sentence for a word that nobody knows, with the nearest one that exists."""
    known = [str(member.value) for member in kind]
    near = get_close_matches(str(value).lower()[:LONGEST_KEY], known, n=1)
    if near:
        return Message("We don't know this word. Did you mean “{near}”?", near=near[0])
    return Message("Enter one of these: {known}.", known=", ".join(known))


SENTENCES: Mapping[str, Message] = {
    "bool_type": Message("Enter true or false."),
    "string_type": Message("Put this text in quotes."),
    "tuple_type": NO_LIST,
    "dataclass_type": Message("Write this as a table of keys and values."),
    "mapping_type": Message("Write this as a table of keys and values."),
    "dict_type": Message("Write this as a table of keys and values."),
}


def _sentence(
    error: Any, kind: Any, marks: tuple[Any, ...], steps: tuple[str | int, ...]
) -> Message:
    name = error["type"]
    if name == "missing":
        return missing(str(steps[-1]))
    if name == "enum":
        return unknown_word(error["input"], kind)
    if name in {"string_too_long", "too_long"} and kind is str:
        return too_long(error["ctx"]["max_length"])
    if name == "too_long":
        return Message("Enter at most {n} lines.", n=error["ctx"]["max_length"])
    return SENTENCES.get(name) or _out_of_span(kind, marks)


def _out_of_span(kind: Any, marks: tuple[Any, ...]) -> Message:
    low, high = TableKey("", kind, marks).span
    if kind is int:
        return whole_span(low, high)
    if kind is Decimal:
        return amount_span(low, high)
    return number_span(low, high)
