"""Messages as somebody reads them: how a test compares what was said with words."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

import pytest

from portal.craft.quantities import UnitSystem
from portal.render.reader import Reader
from portal.render.text import render

E = TypeVar("E", bound=Exception)
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


@contextmanager
def refusing(kind: type[E], says: str) -> Iterator[pytest.ExceptionInfo[E]]:
    """Expect a refusal whose message, in English, matches a pattern."""
    with pytest.raises(kind) as caught:
        yield caught
    sentence = english(caught.value.sentence)  # type: ignore[attr-defined]  # every refusal has it
    assert re.search(says, sentence), sentence
