"""The words of lists in every language of the portal, those of this page first."""

from collections.abc import Callable
from functools import lru_cache

from portal.craft.titled import Titled
from portal.render.reader import Reader
from portal.render.text import label
from portal.shop.lists.words import Words, words_of
from portal.web.kit.i18n.languages import language, offered


def list_words() -> Words:
    """Return the words by which lists are read here."""
    here = language()
    others = tuple(sorted(code for code in offered() if code != here))
    return _words((here, *others))


@lru_cache(maxsize=8)
def _words(codes: tuple[str, ...]) -> Words:
    return words_of([_labels(code) for code in codes])


def _labels(code: str) -> Callable[[Titled], str]:
    reader = Reader(code)
    return lambda word: label(word, reader)
