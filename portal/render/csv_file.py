"""Tables as CSV (RFC 4180), so that a spreadsheet in the reader's language opens them rightly.

The encoding mark says UTF-8. Where decimals follow a comma, semicolons part the columns, as
spreadsheets in these languages expect (common practice). Days and moments are in the shop's
zone, sums without their sign. A text that would be run as a formula gets an apostrophe before it.
Source: OWASP, CSV injection.
"""

import csv
import io
import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from itertools import chain, islice
from typing import Any

from babel.numbers import get_decimal_symbol

from portal.craft.messages import Message
from portal.craft.parts import Titled
from portal.render.catalogues import locale_of
from portal.render.days import local
from portal.render.reader import Reader
from portal.render.text import render
from portal.shop.money import Money, digits_of

MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"
FORMULA = ("=", "@", "+", "-", "−", "\t", "\r", "\n", "＝", "＋", "－", "＠")
AT_A_TIME = 1000  # rows
YES, NO = Message("yes"), Message("no")


def csv_file(heads: Iterable[Message], rows: Iterable[Sequence[Any]], reader: Reader) -> bytes:
    """Return a table with its heads as this reader has it."""
    return b"".join(csv_pieces(heads, rows, reader))


def csv_pieces(
    heads: Iterable[Message], rows: Iterable[Sequence[Any]], reader: Reader
) -> Iterator[bytes]:
    """Yield the same, a thousand rows at a time, so that a long table does not fill the memory."""
    point = str(get_decimal_symbol(locale_of(reader.language)))
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";" if point == "," else ",")
    out.write(MARK)
    left: Iterator[Iterable[Any]] = chain([heads], rows)
    while some := list(islice(left, AT_A_TIME)):
        writer.writerows([_cell(value, point, reader) for value in row] for row in some)
        yield out.getvalue().encode()
        out.seek(0)
        out.truncate()


def _cell(value: Any, point: str, reader: Reader) -> str:
    if value is None:
        return ""
    for kind, write in KINDS:
        if isinstance(value, kind):
            return write(value, point, reader)
    return _harmless(render(value, reader))


def _figure(value: float | Decimal, point: str, _reader: Reader) -> str:
    return format(Decimal(str(value)), "f").replace(".", point)


def _sum(value: Money, point: str, reader: Reader) -> str:
    decimals = Decimal(1).scaleb(-digits_of(value.currency))
    return _figure(value.major.quantize(decimals), point, reader)


def _harmless(text: str) -> str:
    return f"'{text}" if text.startswith(FORMULA) and not _is_signed(text) else text


def _is_signed(text: str) -> bool:
    """Whether a text is a telephone number as it is written, or a number with its sign."""
    sign, figures = text[:1], text[1:]
    if not figures.isascii():
        return False
    is_phone = sign == "+" and all(one.isdecimal() for one in figures.split(" "))
    plain = figures.replace(",", ".", 1).replace(".", "", 1)
    return is_phone or (sign in ("+", "-") and plain.isdecimal())


# the first that fits counts; all else is a text
KINDS: tuple[tuple[Any, Callable[[Any, str, Reader], str]], ...] = (
    (bool, lambda yes, _, reader: render(YES if yes else NO, reader)),
    (Money, _sum),
    ((int, float, Decimal), _figure),
    (datetime, lambda moment, _, reader: f"{local(moment, reader):%Y-%m-%d %H:%M}"),
    (date, lambda day, *_: day.isoformat()),
    ((dict, list), lambda data, *_: json.dumps(data, ensure_ascii=False, sort_keys=True)),
    (Titled, lambda word, _, reader: render(word, reader)),
    (Enum, lambda word, *_: str(word.value)),
)
