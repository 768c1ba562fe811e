"""Messages as somebody reads them: how a test compares what was said with words."""

from typing import Any

from portal.craft.quantities import UnitSystem
from portal.render.reader import Reader
from portal.render.text import render

INCHES = Reader(units=UnitSystem.INCH)


def read(message: Any, reader: Reader) -> str:
    """Return a message as this reader has it; a space is a space."""
    return render(message, reader).replace("\u00a0", " ")


def read_in(message: Any, language: str) -> str:
    """Return a message in a language."""
    return read(message, Reader(language))


def english(message: Any) -> str:
    """Return a message in English."""
    return read(message, Reader())
