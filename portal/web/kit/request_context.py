"""What every page needs: the unit of work, the settings, and the shop as it is now."""

from contextlib import suppress
from datetime import datetime
from typing import TYPE_CHECKING, cast
from zoneinfo import ZoneInfo

from flask import current_app, g
from flask_babel import gettext
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from portal.orders.kernel.errors import Busy
from portal.orders.kernel.unit import UnitOfWork
from portal.settings import Settings

if TYPE_CHECKING:
    from portal.shop.shop import Shop


def unit() -> UnitOfWork:
    """Return the unit of work that the verbs of `orders` take first."""
    return cast("UnitOfWork", current_app.extensions["unit"])


def settings() -> Settings:
    return cast("Settings", current_app.extensions["settings"])


def now() -> datetime:
    """Return the present moment, aware, in UTC."""
    return unit().now()


def shop() -> "Shop":
    """Return the shop, read at most once a request."""
    if "shop" not in g:
        here = unit()
        g.shop = here.look(here.shop)
    return cast("Shop", g.shop)


def read_shop(session: Session) -> None:
    """Read the shop in a snapshot that is open; pages without one say so themselves."""
    with suppress(LookupError, ValueError):
        g.shop = unit().shop(session)


def cookie_name(what: str) -> str:
    """Return the name of a cookie: with TLS the browser lets nobody but this host set it."""
    return f"__Host-{what}" if settings().https else what


def fresh_token() -> str:
    """Return 128 random bits as text, for a form that must count once."""
    return unit().random_bytes(16).hex()


def zone() -> ZoneInfo:
    """Return the zone in which the shop's times are shown."""
    return ZoneInfo(str(shop().zone))


def shop_or_none() -> "Shop | None":
    """Return the shop, or None when the database fails: error pages need no shop."""
    try:
        return shop()
    except (Busy, SQLAlchemyError, LookupError, ValueError):
        return None


def house_name() -> str:
    """Return the shop's name."""
    here = shop_or_none()
    return here.name if here else gettext("Coating works")


def number_of(text: str | None, otherwise: int = 0) -> int:
    """Return the whole number in `text`, or `otherwise` where there is none."""
    return int(text) if text and text.isascii() and text.isdecimal() else otherwise
