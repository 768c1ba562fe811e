"""What no page can read is refused once for all: NUL bytes, half characters, endless numbers.

Such input never comes from a page of ours. It is answered with 400 (404 in an address), before a
database or a parser stumbles over it.
"""

import re
from collections.abc import Iterator

from flask import Flask, abort, request
from sqlalchemy.exc import DataError
from werkzeug.exceptions import RequestEntityTooLarge
from werkzeug.routing import IntegerConverter

# what Python and the databases raise over a value that they can't hold
UNREADABLE = (OverflowError, RecursionError, UnicodeEncodeError, DataError)
BROKEN = re.compile("[\0\ud800-\udfff]")
LARGEST = 2**31 - 1  # of a number in an address: what a column of numbers holds


class RowNumber(IntegerConverter):
    """A number in an address that a database can hold."""

    def __init__(self, *args: object, **limits: int) -> None:
        super().__init__(*args, **({"max": LARGEST} | limits))  # type: ignore[arg-type]  # as given


def is_unreadable(problem: Exception) -> bool:
    """Return whether an error means that the input can't be held, so that the fault isn't ours."""
    return isinstance(problem, UNREADABLE)


def init_app(app: Flask) -> None:
    """Refuse what can't be read before any page looks at it."""
    app.url_map.converters["int"] = RowNumber

    @app.before_request
    def refuse() -> None:
        if _is_broken(request.path):
            abort(404)
        try:
            broken = any(_is_broken(one) for one in _sent())
        except RequestEntityTooLarge:
            return  # the page says it beside the field
        if broken:
            abort(400)


def _sent() -> Iterator[str]:
    yield from request.cookies.values()
    for values in (request.args, request.form):
        for name, sent in values.items(multi=True):
            yield name
            yield sent
    for name, file in request.files.items(multi=True):
        yield name
        yield file.filename or ""


def _is_broken(text: str) -> bool:
    return BROKEN.search(text) is not None
