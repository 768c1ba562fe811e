"""The document of the shop's translations: by language, then by the text as the shop wrote it."""

from collections.abc import Mapping
from typing import Annotated, Any

from portal.craft.reading import read
from portal.craft.schema import Text, longest
from portal.shop.works import ByKey

TRANSLATIONS = "translations"
LONGEST_TRANSLATION = 600

Translations = Mapping[str, Mapping[str, str]]
_Shape: Any = Mapping[
    str, Annotated[Mapping[str, Annotated[Text, longest(LONGEST_TRANSLATION)]], ByKey]
]


def read_translations(body: Mapping[str, Any]) -> Translations:
    """Read the document; raise CraftError for a text that is too long or no text."""
    found: Translations = read(_Shape, body)
    return found
