"""Sentences that can be shown as they stand and still be translated later.

A `Said` is an ordinary English string that remembers the template and the values it was made
from, so the pages can look the template up in a message catalogue. Rules never build sentences
by gluing strings: a glued sentence can't be translated.
"""

from collections.abc import Mapping
from typing import Any


class Said(str):
    """An English sentence with its template (`msgid`) and its values."""

    __slots__ = ("msgid", "values")
    msgid: str
    values: Mapping[str, Any]

    def __new__(cls, msgid: str, values: Mapping[str, Any]) -> "Said":
        """Fill `msgid` (`{name}` placeholders) with `values`."""
        said = super().__new__(cls, msgid.format(**values) if values else msgid)
        said.msgid = msgid
        said.values = values
        return said

    def __reduce__(self) -> tuple[type["Said"], tuple[str, Mapping[str, Any]]]:
        """Survive copying and pickling with the template kept."""
        return (Said, (self.msgid, dict(self.values)))


def say(msgid: str, **values: Any) -> Said:
    """Return the sentence `msgid` filled with `values`."""
    return Said(msgid, values)


def signed(text: str, sign: str) -> str:
    """Return a figure that a rule wrote, 0.05, with another decimal sign; other text as it is."""
    if text.count(".") == 1 and text.replace(".", "").isdecimal():
        return text.replace(".", sign)
    return text


class CraftError(ValueError):
    """The trade's own refusal of an input, as a sentence that a customer can act on.

    `key` names the field (`sets[0].count`), where one is to blame.
    """

    def __init__(self, sentence: str, *, key: str = "") -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.key = key
