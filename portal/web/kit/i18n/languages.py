"""Which language a page speaks, and what its reader reads: `portal.render` for this request."""

from datetime import date, datetime
from typing import Any

from flask import Flask, current_app, g, has_request_context, request
from flask_babel import Babel, get_locale

from portal.render import catalogues, days, figures, text
from portal.render import money as sums
from portal.render.reader import Reader, reader_for
from portal.shop.money import Money
from portal.web.kit import request_context
from portal.web.kit.i18n import measures

COOKIE = "lang"


def init_app(app: Flask) -> None:
    """Let every request choose its language: by cookie, else by what the browser prefers."""
    app.config["BABEL_TRANSLATION_DIRECTORIES"] = str(catalogues.FOLDER)
    app.extensions["languages"] = catalogues.languages()
    Babel(app, locale_selector=chosen, default_locale="en")
    # asked once a request: the extension looks its context up anew for every sentence
    app.jinja_env.install_gettext_callables(  # type: ignore[attr-defined]  # from its i18n part
        gettext=lambda text: catalogues.catalogue(language()).gettext(text),
        ngettext=lambda one, many, count: catalogues.catalogue(language()).ngettext(
            one, many, count
        ),
        pgettext=lambda meant, text: catalogues.catalogue(language()).pgettext(meant, text),
        newstyle=True,
    )


def offered() -> dict[str, str]:
    """Return code and own name of every language of this portal."""
    known: dict[str, str] = current_app.extensions["languages"]
    return known


def chosen() -> str:
    """Return the language of this request."""
    known = offered()
    cookie = request.cookies.get(request_context.cookie_name(COOKIE), "")
    if cookie in known:
        return cookie
    return request.accept_languages.best_match(list(known)) or "en"


def language() -> str:
    """Return the language being spoken, English outside a request."""
    if not has_request_context():
        return "en"
    if "spoken" not in g:
        locale = get_locale()
        g.spoken = str(locale.language) if locale else "en"
    return str(g.spoken)


def use_language(code: str) -> None:
    """Let the rest of this request speak a language: a paper has its customer's."""
    if code in offered():
        g.spoken = code
        g.pop("reader", None)


def reader() -> Reader:
    """Return who reads this page; outside a request somebody who reads English and metric."""
    if not has_request_context():
        return Reader()
    if "reader" not in g:
        units, shop = measures.of_page(), request_context.shop_or_none()
        g.reader = reader_for(shop, language(), units) if shop else Reader(language(), units=units)
    found: Reader = g.reader
    return found


def render(message: Any) -> str:
    """Return a message in the page's language; other text stays as it is."""
    return text.render(message, reader())


def label(word: Any) -> str:
    """Return the title of a word of the trade in the page's language."""
    return text.label(word, reader())


def colour_name(name: str) -> str:
    """Return a powder's name in the page's language: the shop's own word for it, or RAL's."""
    return text.colour_name(name, reader())


def money(sum_: Money) -> str:
    """Return £1,234.00: for columns of sums, where whole pounds keep their pence."""
    return sums.money(sum_, reader())


def amount(sum_: Money) -> str:
    """Return £1,234 or £1,234.50: for sentences, where whole pounds have no pence."""
    return sums.amount(sum_, reader())


def number(value: float) -> str:
    """Return a number as the page's language writes it, at most three decimals."""
    return figures.number(value, reader())


def local(moment: date) -> date:
    """Return a moment in the shop's zone; a plain date is returned as it is."""
    return days.local(moment, reader())


def day(moment: date) -> str:
    """Return 'Tuesday 2 June' in the shop's zone."""
    return days.day(moment, reader())


def dated(moment: date) -> str:
    """Return '2 June 2026' in the shop's zone, for what is kept for years."""
    return days.dated(moment, reader())


def short_day(moment: date) -> str:
    """Return 'Tue 2 Jun' in the shop's zone, for lists that are read at a glance."""
    return days.short_day(moment, reader())


def clock_time(moment: datetime) -> str:
    """Return '14:05' in the shop's zone."""
    return days.clock_time(moment, reader())
