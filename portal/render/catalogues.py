"""The catalogues: English, which stands in the sources, and one file for each other language."""

import gettext
from functools import lru_cache
from pathlib import Path

from babel import Locale, UnknownLocaleError

FOLDER = Path(__file__).resolve().parents[1] / "locale"


@lru_cache(maxsize=32)
def _catalogue(folder: Path, language: str) -> gettext.NullTranslations:
    return gettext.translation("messages", folder, [language], fallback=True)


def catalogue(language: str) -> gettext.NullTranslations:
    """Return the sentences of a language; English where it has no catalogue."""
    return _catalogue(FOLDER, language)


def languages(folder: Path | None = None) -> dict[str, str]:
    """Return the languages that can be read: English, and each that has its catalogue."""
    found = sorted(
        path.parent.parent.name for path in (folder or FOLDER).glob("*/LC_MESSAGES/*.mo")
    )
    return {code: own_name(code) for code in ["en", *found]}


def own_name(code: str) -> str:
    """Return what a language calls itself: Deutsch."""
    name = str(Locale.parse(code).get_display_name(code))
    return name[:1].upper() + name[1:]


@lru_cache(maxsize=32)
def locale_of(language: str) -> Locale:
    """Return how a language writes figures, sums and days; as English where nobody knows."""
    try:
        return Locale.parse(language)
    except (UnknownLocaleError, ValueError):
        return Locale("en")
