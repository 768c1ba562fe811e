"""Opens the portal's database for a verb, and tells who reads its answer."""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import SQLAlchemyError

from portal.craft.messages import CraftError, Message
from portal.orders.kernel.errors import Busy
from portal.orders.kernel.unit import UnitOfWork, open_unit
from portal.render.catalogues import languages
from portal.render.reader import Reader, reader_for
from portal.settings import BadSetting, Settings, read_language
from portal.shop.shop import Shop
from portal.store import migrations
from portal.web.kit.http.clock import now


def bring_up(settings: Settings) -> None:
    """Bring the settings' database to this version's form; raise BadSetting for a newer one."""
    _must_be_known(migrations.current(settings.database_url))
    migrations.upgrade(settings.database_url)


def _must_be_known(form: str) -> None:
    if form and form not in migrations.forms():
        raise BadSetting(
            Message(
                "The database was written by a newer version of the portal (its form is {form}, "
                "this version knows {head}). Install that version. Nothing was changed.",
                form=form,
                head=migrations.head(),
            )
        )


def _must_be_ours(form: str) -> None:
    _must_be_known(form)
    if not form:
        raise BadSetting(Message("There is no database yet. Run “migrate” first."))
    if form != migrations.head():
        raise BadSetting(
            Message(
                "The database is of an older form ({form}; this version needs {head}). Run "
                "“migrate” first. Nothing was changed.",
                form=form,
                head=migrations.head(),
            )
        )


@contextmanager
def opened(settings: Settings) -> Iterator[UnitOfWork]:
    """Yield a unit of work over the settings' database, with the real clock and randomness.

    Raise BadSetting where the database is of another form than this version's.
    """
    _must_be_ours(migrations.current(settings.database_url))
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
    except (SQLAlchemyError, LookupError, CraftError, BadSetting, Busy):
        return None
