"""What rows of a list are read by in tests: the test shelf, and the words of every language."""

from datetime import date

from portal.craft.parts import PartKind
from portal.render.catalogues import languages
from portal.render.reader import Reader
from portal.render.text import label
from portal.shop.lists.columns import OnThem, TypedRow
from portal.shop.lists.heading import read_list
from portal.shop.lists.reading import Reading, ReadRow, read_row
from portal.shop.lists.table_text import read_table
from portal.shop.lists.words import Words, words_of
from tests.craft.shelf import SHELF

TODAY = date(2026, 6, 2)


def all_words() -> Words:
    """Return the words of every language of the portal."""
    readers = [Reader(code) for code in languages()]
    return words_of([lambda word, reader=reader: label(word, reader) for reader in readers])


WORDS = all_words()


def reading(on_them: OnThem = OnThem.TYRES) -> Reading:
    return Reading(WORDS, SHELF, frozenset(PartKind), TODAY, on_them)


def rows(text: str) -> tuple[TypedRow, ...]:
    return read_list(read_table(text), WORDS).rows


def read(text: str, on_them: OnThem = OnThem.TYRES) -> list[ReadRow]:
    """Return the rows of a pasted text, read."""
    return [read_row(row, reading(on_them)) for row in rows(text)]
