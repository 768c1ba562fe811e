"""Which language a page speaks, and how a sentence of the trade is told in it."""

from collections.abc import Callable
from datetime import date, datetime
from enum import Enum
from functools import lru_cache
from pathlib import Path
from typing import Any

from babel import Locale
from babel.dates import format_date
from babel.numbers import format_decimal, get_decimal_symbol
from flask import Flask, current_app, g, has_app_context, request
from flask_babel import Babel, get_locale, get_translations

from portal.craft.colour_names import ColourName
from portal.craft.messages import Message, signed
from portal.craft.part_names import renamed
from portal.craft.parts import Titled
from portal.notices.sums import column_sum, plain_sum
from portal.shop.money import Money
from portal.shop.own_words import colour_in, own_in
from portal.web.kit import request_context
from portal.web.kit.i18n.measures import is_cast, measured

FOLDER = Path(__file__).resolve().parents[3] / "locale"
COOKIE = "lang"
DAY = {"en": "EEEE d MMMM", "de": "EEEE, d. MMMM", "es": "EEEE d 'de' MMMM"}
SHORT_DAY = {"en": "EEE d MMM", "de": "ccc d. LLL", "es": "EEE d MMM"}


def init_app(app: Flask) -> None:
    """Let every request choose its language: by cookie, else by what the browser prefers."""
    app.config["BABEL_TRANSLATION_DIRECTORIES"] = str(FOLDER)
    app.extensions["languages"] = with_catalogue(FOLDER)
    Babel(app, locale_selector=chosen, default_locale="en")
    # asked once a request: the extension looks its context up anew for every sentence
    app.jinja_env.install_gettext_callables(  # type: ignore[attr-defined]  # from its i18n part
        gettext=lambda text: measured(catalogue().ugettext(text), language()),
        ngettext=lambda one, many, count: catalogue().ungettext(one, many, count),
        pgettext=lambda meant, text: catalogue().upgettext(meant, text),
        newstyle=True,
    )


def catalogue() -> Any:
    """Return the sentences of this request's language."""
    if "catalogue" not in g:
        g.catalogue = get_translations()
    return g.catalogue


def with_catalogue(folder: Path) -> dict[str, str]:
    """Return the languages that can be spoken: English, and each that has its catalogue."""
    found = sorted(path.parent.parent.name for path in folder.glob("*/LC_MESSAGES/messages.mo"))
    return {code: own_name(code) for code in ["en", *found]}


def own_name(code: str) -> str:
    """Return what a language calls itself: Deutsch."""
    name = str(Locale.parse(code).get_display_name(code))
    return name[:1].upper() + name[1:]


def offered() -> dict[str, str]:
    """Return code and own name of every language of this portal."""
    known: dict[str, str] = current_app.extensions["languages"]
    return known


def chosen() -> str:
    """Return the language of this request."""
    known = offered()
    kept = request.cookies.get(COOKIE, "")
    if kept in known:
        return kept
    return request.accept_languages.best_match(list(known)) or "en"


def language() -> str:
    """Return the language being spoken, English outside a request."""
    if not has_app_context():
        return "en"
    if "spoken" not in g:
        locale = get_locale()
        g.spoken = str(locale.language) if locale else "en"
    return str(g.spoken)


def render(sentence: Any) -> str:
    """Return a sentence of the trade in the page's language; other text stays as it is."""
    if isinstance(sentence, Message):
        template = sentence.template(_translated, _counted)
        values = {name: _shown(value) for name, value in sentence.values.items()}
        text = template.format(**values) if values else template
        return text if is_cast(sentence.msgid) else measured(text, language())
    return label(sentence) if isinstance(sentence, Enum) else str(sentence)


def _translated(text: str) -> str:
    return str(catalogue().ugettext(text)) if has_app_context() else text


def _counted(one: str, many: str, count: int) -> str:
    if not has_app_context():
        return one if count == 1 else many
    return str(catalogue().ungettext(one, many, count))


def label(word: Any) -> str:
    """Return the title of a word of the trade in the page's language."""
    if isinstance(word, Titled):
        return _translated(word.title)
    return _translated(str(getattr(word, "value", word)))


def named(label: str) -> str:
    """Return a part's label or an order's summary in the page's language."""
    if isinstance(label, Message):
        return render(label)
    return measured(renamed(label, _translated, get_decimal_symbol(language())), language())


def colour_name(name: str) -> str:
    """Return a powder's name in the page's language: the shop's own word for it, or RAL's."""
    return colour_in(request_context.shop(), name, language()) if has_app_context() else name


def own(text: str) -> str:
    """Return a sentence of the shop in the page's language, or as the shop wrote it."""
    return own_in(request_context.shop(), text, language())


def money(sum_: Money) -> str:
    """Return £1,234.00: for columns of sums, where whole pounds keep their pence."""
    return column_sum(sum_, language())


def amount(sum_: Money) -> str:
    """Return £1,234 or £1,234.50: for sentences, where whole pounds have no pence."""
    return plain_sum(sum_, language())


def number(value: float) -> str:
    """Return a number as the page's language writes it, at most three decimals."""
    return str(format_decimal(value, locale=language()))


def local(moment: date) -> date:
    """Return a moment in the shop's zone; a plain date is returned as it is."""
    if isinstance(moment, datetime):
        return moment.astimezone(request_context.zone())
    return moment


def day(moment: date) -> str:
    """Return 'Tuesday 2 June' in the shop's zone."""
    here = local(moment)
    return _day(here.date() if isinstance(here, datetime) else here, language())


@lru_cache(maxsize=2048)
def _day(day_: date, spoken: str) -> str:
    return str(format_date(day_, DAY.get(spoken, DAY["en"]), locale=spoken))


def short_day(moment: date) -> str:
    """Return 'Tue 2 Jun' in the shop's zone, for lists that are read at a glance."""
    spoken = language()
    pattern = SHORT_DAY.get(spoken, SHORT_DAY["en"])
    return str(format_date(local(moment), pattern, locale=spoken))


def clock_time(moment: datetime) -> str:
    """Return '14:05' in the shop's zone."""
    return local(moment).strftime("%H:%M")


def figure(text: str) -> str:
    """Return a figure that a rule wrote, 0.05, with the decimal sign of the page's language."""
    return signed(text, get_decimal_symbol(language()))


SHOWN: tuple[tuple[type, Callable[[Any], str]], ...] = (
    (Message, render),
    (Enum, render),
    (ColourName, colour_name),
    (Money, amount),
    (date, day),
    (float, number),
    (str, figure),
)


def _shown(value: Any) -> Any:
    for kind, show in SHOWN:
        if isinstance(value, kind):
            return show(value)
    if isinstance(value, tuple | list):
        return ", ".join(str(_shown(one)) for one in value)
    return value
