"""How a letter says things: in the customer's language, in the shop's zone and currency."""

import gettext as catalogues
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import phonenumbers
from babel import UnknownLocaleError
from babel.dates import format_date, format_time
from babel.numbers import get_decimal_symbol
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from portal.craft.colour_names import ColourName, colour_name
from portal.craft.messages import Message, signed
from portal.craft.part_names import renamed
from portal.craft.parts import Titled
from portal.notices.sums import column_sum, plain_sum
from portal.shop.money import Money

HOUSE = Path(__file__).resolve().parents[2]
TEMPLATES = HOUSE / "templates"
CATALOGUES = Path(__file__).resolve().parents[1] / "locale"
DAY = {"en": "EEEE d MMMM", "de": "EEEE, d. MMMM", "es": "EEEE d 'de' MMMM"}

Known = catalogues.NullTranslations


def sentences(locale: str) -> catalogues.NullTranslations:
    """Return the sentences of one language; English where it has no catalogue."""
    return catalogues.translation("messages", CATALOGUES, [locale], fallback=True)


@lru_cache(maxsize=8)
def environment(locale: str, zone: str) -> Environment:
    """Return the templates' environment for one language and one zone."""
    known = sentences(locale)
    env = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=select_autoescape(["html"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=False,
        extensions=["jinja2.ext.i18n"],
    )
    install: Any = getattr(env, "install_gettext_callables")  # noqa: B009  # the extension adds it
    install(known.gettext, known.ngettext, newstyle=True)
    sign = decimal_sign(locale)
    where = ZoneInfo(zone)

    def day(moment: date) -> str:
        return _day(moment, locale, where)

    def clock_time(moment: datetime) -> str:
        return format_time(moment.astimezone(where), "HH:mm", locale=locale)

    env.filters |= {
        "day": day,
        "clock_time": clock_time,
        "money": lambda sum_: column_sum(sum_, locale),
        "amount": lambda sum_: plain_sum(sum_, locale),
        "phone": phone,
        "named": lambda label: render_name(label, locale),
        "render": lambda sentence: render(sentence, known, sign, locale, where),
    }
    return env


def phone(number: str) -> str:
    """Return a telephone number (E.164) in groups, as people read it out; other text as it is."""
    try:
        parsed = phonenumbers.parse(number)
    except phonenumbers.NumberParseException:
        return number
    style = phonenumbers.PhoneNumberFormat.INTERNATIONAL
    return str(phonenumbers.format_number(parsed, style))


def decimal_sign(locale: str) -> str:
    """Return what stands before the tenths in a language; a point where it is not known."""
    try:
        return str(get_decimal_symbol(locale))
    except (UnknownLocaleError, ValueError):
        return "."


def render_name(label: str, locale: str) -> str:
    """Return a part's label or an order's summary in a language."""
    if isinstance(label, Message):
        return render_in(label, locale)
    return renamed(label, sentences(locale).gettext, decimal_sign(locale))


def render(
    sentence: Any,
    known: Known,
    sign: str = ".",
    locale: str = "en",
    zone: ZoneInfo = ZoneInfo("UTC"),  # noqa: B008  # a constant
) -> str:
    """Return a sentence of the trade in the language of a catalogue; plain text as it is.

    Figures within the sentence get the decimal `sign`, sums and days are written as in `locale`.
    """
    if isinstance(sentence, Message):
        template = sentence.template(known.gettext, known.ngettext)
        values = {
            name: signed(render(value, known, sign, locale, zone), sign)
            for name, value in sentence.values.items()
        }
        return template.format(**values) if values else template
    if isinstance(sentence, Titled):
        return known.gettext(sentence.title)
    if isinstance(sentence, ColourName):
        return colour_name(sentence, locale)
    if isinstance(sentence, Money):
        return plain_sum(sentence, locale)
    if isinstance(sentence, date):
        return _day(sentence, locale, zone)
    return str(sentence)


def render_in(sentence: Any, locale: str) -> str:
    """Return a sentence in a language, its sums of money as that language writes them."""
    return render(sentence, sentences(locale), decimal_sign(locale), locale)


def _day(moment: date, locale: str, zone: ZoneInfo) -> str:
    here = moment.astimezone(zone) if isinstance(moment, datetime) else moment
    return format_date(here, DAY.get(locale, DAY["en"]), locale=locale)
