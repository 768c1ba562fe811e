"""The document of the shop's translations: by language, then by the text as the shop wrote it."""

from collections.abc import Mapping
from typing import Any

from portal.craft.fields import Fields, refuse
from portal.craft.messages import Message

TRANSLATIONS = "translations"
LONGEST_TRANSLATION = 600

Translations = Mapping[str, Mapping[str, str]]


def read_translations(body: Mapping[str, Any]) -> dict[str, dict[str, str]]:
    """Read the document; raise CraftError for a text that is too long or no text."""
    top = Fields(body)
    found: dict[str, dict[str, str]] = {}
    for language in body:
        table = top.table(str(language))
        if table is None:
            raise refuse(Message("Enter the translations of each language."), str(language))
        own = {
            one: table.text(one, longest=LONGEST_TRANSLATION) for one in map(str, body[language])
        }
        found[str(language)] = {text: told.strip() for text, told in own.items() if told.strip()}
    return found
