"""Sentences that can be shown as they stand and still be translated later.

A `Message` is an ordinary English string that remembers the template and the values it was made
from, so the pages can look the template up in a message catalogue. Rules never build sentences
by gluing strings: a glued sentence can't be translated.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any


class Message(str):
    """An English sentence with its template (`msgid`) and its values.

    A sentence about `values["count"]` things has a second template for several, `many`.
    """

    __slots__ = ("many", "msgid", "values")
    msgid: str
    values: Mapping[str, Any]
    many: str

    def __new__(cls, msgid: str, /, **values: Any) -> "Message":
        """Fill the template (`{name}` placeholders) with `values`."""
        return cls.counted(msgid, "", values)

    @classmethod
    def counted(cls, msgid: str, many: str, values: Mapping[str, Any]) -> "Message":
        """Return the sentence with both of its templates."""
        template = many if many and values["count"] != 1 else msgid
        message = super().__new__(cls, template.format(**values) if values else template)
        message.msgid = msgid
        message.values = values
        message.many = many
        return message

    def __reduce__(self) -> tuple[Any, tuple[str, str, Mapping[str, Any]]]:
        """Survive copying and pickling with the template kept."""
        return (Message.counted, (self.msgid, self.many, dict(self.values)))

    def template(self, one: Callable[[str], str], several: Callable[[str, str, int], str]) -> str:
        """Return the template in another language, by its `gettext` and its `ngettext`."""
        if self.many:
            return several(self.msgid, self.many, int(self.values["count"]))
        return one(self.msgid) if self.msgid else ""


@dataclass(frozen=True, slots=True)
class Plural:
    """A sentence about one thing, and the same about several (`{count}`)."""

    one: str
    many: str

    def of(self, count: int, **values: Any) -> Message:
        """Return the sentence about `count` things."""
        return Message.counted(self.one, self.many, {"count": count, **values})


def joined(sentences: Iterable[str], between: str = " ") -> Message:
    """Return several sentences in a row; each can still be told in any language."""
    values = {f"s{n}": one for n, one in enumerate(sentences)}
    return Message(between.join(f"{{{name}}}" for name in values), **values)


def signed(text: str, sign: str) -> str:
    """Return a figure that a rule wrote, 0.05, with another decimal sign; other text as it is."""
    if text.count(".") == 1 and text.replace(".", "").isdecimal():
        return text.replace(".", sign)
    return text


@dataclass(frozen=True, slots=True)
class Phone:
    """A telephone number (E.164) within a sentence, written as people read it out."""

    number: str


class CraftError(ValueError):
    """The trade's own refusal of an input, as a sentence that a customer can act on.

    `key` names the field (`sets[0].count`), where one is to blame.
    """

    def __init__(self, sentence: Message, *, key: str = "") -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.key = key
