"""Names of RAL colours in the reader's language."""

from collections.abc import Mapping
from functools import cache

from portal.craft.tables import csv_table


class ColourName(str):
    """The name of a powder within a sentence, so that it can be translated."""

    __slots__ = ()


LANGUAGES = ("en", "de", "es")


@cache
def ral_names() -> Mapping[str, Mapping[str, str]]:
    """Return the name of each RAL number by language; a German noun keeps its capital."""
    return {
        row["number"]: {"en": row["name"], "de": row["de"], "es": row["es"]}
        for row in csv_table("ral.csv")
    }


@cache
def _known() -> Mapping[str, Mapping[str, str]]:
    """Return every official name in any language, in lower case, with its translations."""
    return {name.lower(): names for names in ral_names().values() for name in names.values()}


@cache
def _added() -> Mapping[str, Mapping[str, str]]:
    return {word.lower(): row for row in csv_table("colour_words.csv") for word in row.values()}


def colour_name(name: str, language: str) -> str:
    """Return the name of a colour in a language, where it is the name of a RAL colour.

    A word for the gloss may follow: `Jet black satin` is `Tiefschwarz seidenglänzend` in German.
    Any other name is the shop's own and stays as it is.
    """
    if language not in LANGUAGES:
        return name
    words = name.split()
    for end in range(len(words), 0, -1):
        official = _known().get(" ".join(words[:end]).lower())
        rest = " ".join(words[end:]).lower()
        if official and (not rest or rest in _added()):
            translated = (
                [official[language], _added()[rest][language]] if rest else [official[language]]
            )
            return _begun(" ".join(translated))
    return name


def _begun(name: str) -> str:
    return name[:1].upper() + name[1:]
