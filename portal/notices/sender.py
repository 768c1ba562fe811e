"""The shop as its letters show it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from portal.craft.quantities import UnitSystem
from portal.render.reader import Reader
from portal.shop.shop import Shop


@dataclass(frozen=True, slots=True)
class Sender:
    """The shop as a letter shows it; `words` are its own sentences, by kind of letter.

    `own` are the shop's words in the language of the reader, `units` are the reader's as well.
    """

    name: str
    address: tuple[str, ...]
    phone: str
    email: str
    zone: str
    words: Mapping[str, str] = field(default_factory=dict)
    own: Mapping[str, str] = field(default_factory=dict)
    units: UnitSystem = UnitSystem.METRIC
    country: str = ""

    def reader(self, language: str) -> Reader:
        """Return the reader of what this shop writes in a language."""
        return Reader(language, ZoneInfo(self.zone), self.units, self.own, self.country)


def sender_of(shop: Shop, locale: str = "", units: UnitSystem | None = None) -> Sender:
    """Return what letters show of a shop, its own words in the language of the reader.

    Without a choice of `units` they are those of the shop's country.
    """
    own = shop.translations.get(locale, {})
    words = {kind: own.get(text) or text for kind, text in shop.letter_words.items()}
    return Sender(
        shop.name,
        shop.address,
        shop.phone,
        shop.email,
        shop.zone,
        words,
        own,
        units or UnitSystem.usual_in(shop.country),
        shop.country,
    )
