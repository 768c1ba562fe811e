"""The words of a list in every language of the portal, and what else people write for them."""

import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

from portal.craft.parts import Damage, Gloss, Layer, Metal, PartKind, System, WheelBuild
from portal.craft.tables import csv_table
from portal.craft.titled import Titled
from portal.shop.lists.columns import ListColumn, OnThem

KINDS: tuple[type[Titled], ...] = (
    ListColumn,
    PartKind,
    WheelBuild,
    Metal,
    Layer,
    Damage,
    OnThem,
    System,
    Gloss,
)
DO_NOT_KNOW = frozenset({"?", "??", "???"})
Word = TypeVar("Word", bound=Titled)
Label = Callable[[Titled], str]


@dataclass(frozen=True, slots=True)
class Words:
    """What is meant by a text, for each kind of word; and what says yes, none, "from a sample"."""

    known: Mapping[type[Titled], Mapping[str, Titled]]
    yes: frozenset[str]
    none: frozenset[str]
    sample: frozenset[str]

    def find(self, kind: type[Word], text: str) -> Word | None:
        """Return the member that a text means; None where it is no word of this kind."""
        found = self.known[kind].get(fold(text))
        if found is None and text.strip() in DO_NOT_KNOW:
            found = next((one for one in kind if one.value == "unknown"), None)
        return found if isinstance(found, kind) else None

    def says_yes(self, text: str) -> bool:
        """Return whether a text says that it is so."""
        return fold(text) in self.yes or text.strip() in DO_NOT_KNOW

    def says_none(self, text: str) -> bool:
        """Return whether a text says that there is nothing."""
        return fold(text) in self.none

    def says_sample(self, text: str) -> bool:
        """Return whether a text leaves the colour to the samples."""
        return fold(text) in self.sample


def fold(text: str) -> str:
    """Return letters and figures alone, in lower case and without accents."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return "".join(ch for ch in plain if ch.isalnum())


def words_of(labels: Iterable[Label]) -> Words:
    """Return the words by the labels of some languages, and by the table of other words.

    A label counts before another word for something else, and an earlier language before a later.
    """
    spoken = tuple(labels)
    known: dict[type[Titled], dict[str, Titled]] = {}
    for kind in KINDS:
        names = known.setdefault(kind, {})
        for label in spoken:
            for member in kind:
                names.setdefault(fold(label(member)), member)
        for text, member in _others(kind).items():
            names.setdefault(text, member)
        names.pop("", None)
    yes, none, sample = (frozenset(_texts("", word)) for word in ("yes", "none", "sample"))
    return Words(known, yes, none, sample)


@cache
def _others(kind: type[Titled]) -> Mapping[str, Titled]:
    found = {fold(member.value): member for member in kind}
    for member in kind:
        for text in _texts(kind.__name__, member.value):
            found.setdefault(text, member)
    return found


def _texts(kind: str, word: str) -> list[str]:
    rows = csv_table("list_words.csv")
    lines = [row["texts"] for row in rows if (row["kind"], row["word"]) == (kind, word)]
    return [fold(text) for line in lines for text in line.split("|")]
