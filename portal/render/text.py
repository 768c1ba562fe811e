"""How a message becomes words: its template in the reader's language, its values as they read."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Any

from portal.craft import colour_names
from portal.craft.colour_names import ColourName
from portal.craft.messages import Message, Phone, Sentences
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


def _message(message: Message, reader: Reader) -> str:
    known = catalogue(reader.language)
    template = message.template(known.gettext, known.ngettext)
    values = {name: render(value, reader) for name, value in message.values.items()}
    return template.format(**values) if values else template


def _sentences(sentences: Sentences, reader: Reader) -> str:
    return " ".join(render(one, reader) for one in sentences.messages)


def _list(values: "tuple[Any, ...] | list[Any]", reader: Reader) -> str:
    """Return words with a comma between them, clauses with a semicolon."""
    clauses = any(isinstance(value, Message) for value in values)
    return ("; " if clauses else ", ").join(render(value, reader) for value in values)


# the first that fits counts: a word of the trade and the name of a colour are texts, too
KINDS: tuple[tuple[Any, Callable[[Any, Reader], str]], ...] = (
    (Message, _message),
    (Sentences, _sentences),
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
