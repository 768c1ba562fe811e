"""How a message becomes words: its template in the reader's language, its values as they read."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Any

from portal.craft import colour_names
from portal.craft.colour_names import ColourName
from portal.craft.messages import Message, Phone, signed
from portal.craft.part_names import renamed
from portal.craft.parts import Titled
from portal.craft.quantities import Box, Quantity, Span
from portal.render.catalogues import catalogue
from portal.render.days import day
from portal.render.figures import box, number, quantity, span_in_words
from portal.render.money import amount
from portal.render.phones import phone
from portal.render.reader import Reader
from portal.shop.money import Money


def render(message: Any, reader: Reader) -> str:
    """Return a message, or a value of one, as this reader has it; plain text as it is."""
    for kind, write in KINDS:
        if isinstance(message, kind):
            return write(message, reader)
    return str(message)


def label(word: Any, reader: Reader) -> str:
    """Return the title of a word of the trade."""
    title = word.title if isinstance(word, Titled) else str(getattr(word, "value", word))
    return catalogue(reader.language).gettext(title) if title else ""


def colour_name(name: str, reader: Reader) -> str:
    """Return a powder's name: the shop's own word for it, else its RAL name, else as it is."""
    return reader.own.get(name) or colour_names.colour_name(name, reader.language)


def own(text: str, reader: Reader) -> str:
    """Return a text of the shop as it has put it into this language, or as it wrote it."""
    return reader.own.get(text) or text


def named(label_: str, reader: Reader) -> str:
    """Return a part's label or an order's summary, also one of before they were messages."""
    if isinstance(label_, Message):
        return render(label_, reader)
    return renamed(label_, catalogue(reader.language).gettext, _decimal_sign(reader))


def _message(message: Message, reader: Reader) -> str:
    known = catalogue(reader.language)
    template = message.template(known.gettext, known.ngettext)
    values = {name: _value(value, reader) for name, value in message.values.items()}
    return template.format(**values) if values else template


def _list(values: "tuple[Any, ...] | list[Any]", reader: Reader) -> str:
    return ", ".join(render(value, reader) for value in values)


def _value(value: Any, reader: Reader) -> str:
    return signed(value, _decimal_sign(reader)) if type(value) is str else render(value, reader)


def _decimal_sign(reader: Reader) -> str:
    return number(Decimal("0.5"), reader)[1]


# the first that fits counts: a message and the name of a colour are texts, too
KINDS: tuple[tuple[Any, Callable[[Any, Reader], str]], ...] = (
    (Message, _message),
    (Enum, label),
    (ColourName, colour_name),
    (Money, amount),
    (Quantity, quantity),
    (Box, box),
    (Span, span_in_words),
    (date, day),
    (Phone, lambda phone_, reader: phone(phone_.number, reader)),
    ((float, Decimal), number),
    ((tuple, list), _list),
)
