"""Template filters: they format values. No rule, no arithmetic of dates, no query."""

from collections.abc import Iterable
from datetime import date, datetime
from functools import lru_cache

import phonenumbers
from flask import Flask
from markupsafe import Markup, escape

from portal.craft.part_names import rim_size, set_names
from portal.craft.parts import PartSet, Rim
from portal.shop.pricing.quote import Quote
from portal.shop.pricing.quote_words import tax_said
from portal.shop.pricing.statements import DateStatement, price_of_quote
from portal.web.kit.i18n import languages, measures
from portal.web.kit.i18n.languages import (
    amount,
    clock_time,
    colour_name,
    day,
    label,
    local,
    money,
    named,
    number,
    own,
    render,
    short_day,
)
from portal.web.kit.i18n.measures import measured
from portal.web.kit.request_context import shop

NARROW = "\u00a0"


def mm(length: float) -> str:
    """Return '1,250 mm'."""
    return measured(f"{number(round(length))}{NARROW}mm", languages.language())


def micron(film: float) -> str:
    """Return '80 µm'."""
    return measured(f"{number(round(film))}{NARROW}µm", languages.language())


def kg(mass: float) -> str:
    """Return '0.8 kg'."""
    return measured(f"{number(round(mass, 1))}{NARROW}kg", languages.language())


def celsius(temperature: float) -> str:
    """Return '180 °C', or what it is in °F."""
    return measured(f"{number(round(temperature))}{NARROW}°C", languages.language())


def box(sides: Iterable[float]) -> str:
    """Return '600 × 80 × 80 mm'."""
    text = " × ".join(number(round(side)) for side in sides)
    return measured(f"{text}{NARROW}mm", languages.language())


def when(moment: date) -> Markup:
    """Return a `<time>` with the day, and the hour where there is one, in the shop's zone."""
    here = local(moment)
    text = day(moment)
    if isinstance(here, datetime):
        text = f"{text}, {here:%H:%M}"
    return Markup('<time datetime="{}">{}</time>').format(here.isoformat(), text)


def on_day(moment: date) -> Markup:
    """Return a `<time>` with the day, in the shop's zone."""
    here = local(moment)
    return Markup('<time datetime="{}">{}</time>').format(here.isoformat()[:10], day(moment))


def stated(date_: DateStatement) -> Markup:
    """Return when an order is ready, with the hour where the date is firm."""
    return when(date_.promised) if date_.firm else escape(render(date_.sentence))


def inches(rim: Rim) -> str:
    """Return '17 × 7½' as said at the counter: diameter, then width."""
    return rim_size(rim)


def called(part_set: PartSet, sets: Iterable[PartSet] = ()) -> str:
    """Return the name of a set among the `sets` of its order: '2 × 19 × 8½ front'."""
    every = list(sets) or [part_set]
    colours = {code: powder.name for code, powder in shop().stock.items()}
    return render(set_names(every, colours)[part_set.key].of_set)


def price(quote: Quote) -> str:
    """Return the price of a quote as every page states it."""
    return render(price_of_quote(quote).sentence)


def telephone(number: str) -> str:
    """Format a telephone number by the habits of the shop's country."""
    return _telephone(number, shop().country)


@lru_cache(maxsize=256)
def _telephone(number: str, country: str) -> str:
    try:
        found = phonenumbers.parse(number, country)
    except phonenumbers.NumberParseException:
        return number
    home = found.country_code == phonenumbers.country_code_for_region(country)
    form = phonenumbers.PhoneNumberFormat
    return phonenumbers.format_number(found, form.NATIONAL if home else form.INTERNATIONAL)


def tax(name: str) -> str:
    """Return the name of a tax in the page's language: VAT, MwSt., IVA."""
    return render(tax_said(name))


def init_app(app: Flask) -> None:
    for show in (
        money, amount, price, day, short_day, clock_time, number, render, label, mm, micron, kg,
        when, on_day, stated, inches, called, telephone, named, celsius, box,
        colour_name, own, tax,
    ):  # fmt: skip
        app.jinja_env.filters[show.__name__] = show
    app.jinja_env.globals["language"] = languages.language
    app.jinja_env.globals["languages"] = languages.offered
    app.jinja_env.globals["measures"] = measures
