"""Finds words of another language on a page: phrases of the catalogues, and their small words.

A phrase counts when a catalogue has it in another language and this language has it nowhere. It is
found by its first two words, so that a page costs a millisecond and not a second.
"""

import re
from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise

from tests.house.catalogues import BRACES, PERCENTS, TAGS, kept, path_of, shipped

WORD = re.compile(r"[^\W\d_]+(?:[’'][^\W\d_]+)?")
BREAK = "¦"
LINK = re.compile(r"(?:[A-Z2-7]{4}-){3,}[A-Z2-7]{2,4}")  # the address on a slip, to be typed
# little words that a sentence seldom does without, and that the other two languages don't have
SMALL = {
    "en": {"the", "your", "you", "with", "of", "and", "this", "that", "from", "are", "is", "it"},
    "de": {"und", "nicht", "ihre", "wir", "das", "oder", "wird", "mit", "auf", "wenn", "sie"},
    "es": {"el", "las", "para", "que", "una", "con", "usted", "del", "está", "son", "se"},
}
Phrases = dict[tuple[str, str], list[tuple[str, ...]]]


def words_of(text: str) -> list[str]:
    """Return the words of a text, small letters, with a mark where a sentence breaks."""
    parts = re.split(r"[^\w\s’'\-]+|\w*\d\w*", LINK.sub(BREAK, text))  # a code is no word
    found: list[str] = []
    for part in parts:
        found += [one.lower() for one in WORD.findall(part)]
        found.append(BREAK)
    return found


@lru_cache(maxsize=1)
def languages() -> tuple[str, ...]:
    return ("en", *shipped())


@lru_cache(maxsize=8)
def _said(language: str) -> tuple[str, ...]:
    """Return every sentence of the catalogues as one language has it, without its placeholders."""
    found: list[str] = []
    for one in languages()[1:] if language == "en" else (language,):
        for message in kept(path_of(one)):
            told = message.id if language == "en" else message.string
            found += [told] if isinstance(told, str) else list(told or ())
    return tuple(_bare(one) for one in found if one)


def _bare(text: str) -> str:
    for holes in (PERCENTS, BRACES, TAGS):
        text = holes.sub(" ¦ ", text)
    return text


@lru_cache(maxsize=8)
def foreign_to(language: str) -> Phrases:
    """Return the phrases of two words or more that only other languages have."""
    own = {pair for text in _said(language) for pair in _pairs(words_of(text))}
    found: Phrases = {}
    for other in languages():
        if other == language:
            continue
        for text in _said(other):
            for phrase in _phrases(words_of(text)):
                if not set(_pairs(phrase)) <= own:
                    found.setdefault(phrase[:2], []).append(tuple(phrase))
    return found


def _phrases(found: list[str]) -> Iterable[tuple[str, ...]]:
    run: list[str] = []
    for word in [*found, BREAK]:
        if word != BREAK:
            run.append(word)
            continue
        if len(run) > 1:
            yield tuple(run)
        run = []


def _pairs(found: Iterable[str]) -> list[tuple[str, str]]:
    return [one for one in pairwise(found) if BREAK not in one]


def strangers(text: str, language: str, allowed: Iterable[str] = ()) -> list[str]:
    """Return the phrases of other languages in a text; what is `allowed` is not looked at."""
    for one in sorted(allowed, key=len, reverse=True):
        # as a word of its own: a customer called X is no part of a link
        if one in text:
            text = re.sub(rf"(?<!\w){re.escape(one)}(?!\w)", " ¦ ", text)
    wrong = [one for part in text.split(BREAK) for one in _strangers_in(part, language)]
    return list(dict.fromkeys(wrong))


@lru_cache(maxsize=100_000)
def _strangers_in(text: str, language: str) -> tuple[str, ...]:
    """Return the phrases of other languages in one piece of a page; most pieces come again."""
    found = words_of(text)
    known = foreign_to(language)
    wrong: list[str] = []
    for at, pair in enumerate(pairwise(found)):
        phrases = known.get(pair, ())
        wrong += [" ".join(p) for p in phrases if tuple(found[at : at + len(p)]) == p]
    for other, small in SMALL.items():
        if other != language and other in languages():
            wrong += [f"{other}: {one}" for one in found if one in small - SMALL[language]]
    return tuple(wrong)
