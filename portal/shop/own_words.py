"""The shop's own sentences and names, and what they are in the languages it has put them into.

A text is looked up as it stands: whoever changes it writes its translations anew.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from portal.craft.colour_names import colour_name
from portal.craft.parts import Titled
from portal.shop.shop import Shop


class OwnPlace(Titled):
    """Where customers read a text of the shop's own."""

    DROP_OFF = "drop_off", "Drop-off instructions"
    LETTER = "letter", "Letter text"
    POWDER = "powder", "Powder name"


@dataclass(frozen=True, slots=True)
class OwnText:
    """A text that the shop wrote; `part` is the kind of letter or the powder's code."""

    place: OwnPlace
    text: str
    part: str = ""


def own_texts(shop: Shop) -> tuple[OwnText, ...]:
    """Return every text of the shop that customers read, each once."""
    found = {}
    if shop.handling_note:
        found[shop.handling_note] = OwnText(OwnPlace.DROP_OFF, shop.handling_note)
    for kind, words in shop.letter_words.items():
        found.setdefault(words, OwnText(OwnPlace.LETTER, words, kind))
    for powder in shop.stock.values():
        found.setdefault(powder.name, OwnText(OwnPlace.POWDER, powder.name, powder.code))
    return tuple(found.values())


def missing(
    shop: Shop, languages: Iterable[str], place: OwnPlace | None = None
) -> dict[str, tuple[OwnText, ...]]:
    """Return, by language, the texts that customers of that language read in another one.

    With a `place` those of it alone. The shop writes in its own language (`shop.locale`); a RAL
    name is known in every language.
    """
    found = {}
    for language in languages:
        open_ = tuple(
            one
            for one in own_texts(shop)
            if place in (None, one.place) and not _is_translated(shop, one, language)
        )
        if open_ and language != shop.locale.partition("-")[0]:
            found[language] = open_
    return found


def _is_translated(shop: Shop, own: OwnText, language: str) -> bool:
    if shop.translations.get(language, {}).get(own.text):
        return True
    return own.place is OwnPlace.POWDER and colour_name(own.text, language) != own.text
