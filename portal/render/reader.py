"""Who reads: in which language, zone and units, and with which words of the shop's own."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, tzinfo
from zoneinfo import ZoneInfo

from portal.craft.quantities import UnitSystem
from portal.shop.shop import Shop


@dataclass(frozen=True, slots=True)
class Reader:
    """Whoever reads a page, a letter or a paper.

    `own` are the shop's texts and colour names as it has put them into this language.
    """

    language: str = "en"
    zone: tzinfo = UTC
    units: UnitSystem = UnitSystem.METRIC
    own: Mapping[str, str] = field(default_factory=dict)
    country: str = ""

    def __hash__(self) -> int:
        """Hash a little of it: readers who are equal are equal in all."""
        return hash((self.language, self.units))


def reader_for(shop: Shop, language: str = "en", units: UnitSystem | None = None) -> Reader:
    """Return a reader of what this shop says, in its country's units unless others were chosen."""
    own = shop.translations.get(language, {})
    units = units or UnitSystem.usual_in(shop.country)
    return Reader(language, ZoneInfo(shop.zone), units, own, shop.country)
