"""Opens the portal's database for a verb, and tells who reads its answer."""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import SQLAlchemyError

from portal.craft.messages import CraftError
from portal.orders.kernel.unit import UnitOfWork, open_unit
from portal.render.catalogues import languages
from portal.render.reader import Reader, reader_for
from portal.settings import Settings, read_language
from portal.shop.shop import Shop
from portal.web.kit.http.clock import now


@contextmanager
def opened(settings: Settings) -> Iterator[UnitOfWork]:
    """Yield a unit of work over the settings' database, with the real clock and randomness."""
    unit = open_unit(
        settings.database_url,
        now=now,
        random_bytes=secrets.token_bytes,
        base_url=settings.base_url,
    )
    try:
        yield unit
    finally:
        unit.close()


def reader_of(settings: Settings, lang: str | None) -> Reader:
    """Return who reads a verb's answer: in `lang`, else as the environment asks, else as the shop.

    English where none of them is a language that we have.
    """
    shop = _shop(settings)
    asked = (lang, read_language(), shop.locale.partition("-")[0] if shop else "")
    language = next((one for one in asked if one in languages()), "en")
    return reader_for(shop, language) if shop else Reader(language)


def _shop(settings: Settings) -> Shop | None:
    """Return the shop, or None where there is none yet."""
    try:
        with opened(settings) as unit, unit.read() as session:
            return unit.shop(session)
    except (SQLAlchemyError, LookupError, CraftError):
        return None
