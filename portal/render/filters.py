"""What templates may do to a value: show it. No rule, no arithmetic of dates, no query."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from portal.craft.markings import marking_of, questions_of
from portal.craft.part_names import rim_size
from portal.craft.parts import PartSet, Rim
from portal.craft.quantities import Box, Quantity, Span, Unit
from portal.render import figures
from portal.render.catalogues import locale_of
from portal.render.days import clock_time, dated, day, month, short_day
from portal.render.figures import number
from portal.render.money import amount, money
from portal.render.phones import phone, telephone
from portal.render.reader import Reader
from portal.render.text import colour_name, label, own, render
from portal.shop.codes import shown
from portal.shop.pricing.quote import Quote
from portal.shop.pricing.quote_words import tax_said
from portal.shop.pricing.statements import price_of_quote


def mm(length: float, reader: Reader) -> str:
    """Return '1,250 mm'."""
    return figures.quantity(Quantity(round(length), Unit.MM), reader)


def micron(film: float, reader: Reader) -> str:
    """Return '80 µm'."""
    return figures.quantity(Quantity(round(film, 1), Unit.UM), reader)


def microns(film: tuple[float, float], reader: Reader) -> str:
    """Return '60–90 µm', as a list says it."""
    return figures.span(Span(round(film[0]), round(film[1]), Unit.UM), reader)


def micron_range(film: tuple[float, float], reader: Reader) -> str:
    """Return '60 to 90 µm', as a sentence says it."""
    return figures.span_in_words(Span(round(film[0]), round(film[1]), Unit.UM), reader)


def micron_row(films: Iterable[float], reader: Reader) -> str:
    """Return '78 · 81 · 80 µm'."""
    return figures.row([round(film, 1) for film in films], Unit.UM, reader)


def mm_range(length: tuple[float, float], reader: Reader) -> str:
    """Return '0.06 to 0.1 mm', as a sentence says it."""
    return figures.span_in_words(Span(*length, Unit.MM), reader)


def kg(mass: float, reader: Reader) -> str:
    """Return '0.8 kg'."""
    return figures.quantity(Quantity(round(mass, 1), Unit.KG), reader)


def celsius(temperature: float, reader: Reader) -> str:
    """Return '180 °C', or what it is in °F."""
    return figures.quantity(Quantity(round(temperature), Unit.CELSIUS), reader)


def box(sides: Iterable[float], reader: Reader) -> str:
    """Return '600 × 80 × 80 mm'."""
    return figures.box(Box(tuple(round(side) for side in sides)), reader)


def inches(rim: Rim, _reader: Reader) -> str:
    """Return '17 × 7½' as it is said at the counter: diameter, then width."""
    return rim_size(rim)


def marking(part_set: PartSet, _reader: Reader) -> str:
    """Return what the markings of a wheel were read as, '8.5J×18 ET35, 225/40 R18'."""
    return marking_of(part_set)


def marking_open(part_set: PartSet, reader: Reader) -> str:
    """Return what is unsure of a rim marking, as sentences."""
    return " ".join(render(one, reader) for one in questions_of(part_set))


def price(quote: Quote, reader: Reader) -> str:
    """Return what a quote comes to, as every page says it."""
    return render(price_of_quote(quote).sentence, reader)


def tax(name: str, reader: Reader) -> str:
    """Return the name of a tax: VAT, MwSt., IVA."""
    return render(tax_said(name), reader)


def code(written: str, _reader: Reader) -> str:
    """Return the code of a job with its dash, 'W9ND-EWHT'."""
    return shown(written)


def country_name(code: str, reader: Reader) -> str:
    """Return the name of a country (ISO 3166), or the code where it has none."""
    return str(locale_of(reader.language).territories.get(code, code))


def iban(number: str, _reader: Reader) -> str:
    """Return an account number in groups of four, as it is printed (ISO 13616)."""
    return " ".join(number[at : at + 4] for at in range(0, len(number), 4))


FILTERS: Mapping[str, Callable[[Any, Reader], str]] = {
    one.__name__: one
    for one in (
        render, label, colour_name, own, day, dated, month, short_day, clock_time, money, amount,
        price, tax, number, mm, mm_range, micron, microns, micron_range, micron_row, kg, celsius,
        box, code, inches, marking, marking_open, phone, telephone, country_name, iban,
    )
}  # fmt: skip
