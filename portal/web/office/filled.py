"""A filled-in sheet as a document again. What is left blank is left out."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, get_args, get_origin

from portal.craft.schema import TableKey
from portal.shop.documents import sheet as document
from portal.shop.pricing.part_prices import EXACT
from portal.web.office.sheets import PREFIX, joined, row_numbers, text_of

Rows = dict[str, list[int]]


def parse(
    kind: str, body: Mapping[str, Any], typed: Mapping[str, str]
) -> tuple[dict[str, Any], Rows]:
    """Return the document that a form tells, and for each list the rows that were filled in."""
    rows: Rows = {}
    return _table(document(kind), "", body, typed, rows), rows


def _table(
    table: TableKey, path: str, body: Mapping[str, Any], typed: Mapping[str, str], rows: Rows
) -> dict[str, Any]:
    asked = {entry.key: entry for entry in table.asked}
    # what no sheet asks for stays as it is
    out = {key: value for key, value in body.items() if key not in asked}
    for key, entry in asked.items():
        here = joined(path, key)
        value: Any
        if entry.row is not None:
            value = _rows(entry.row, here, body.get(key) or [], typed, rows)
        elif entry.keys:
            value = _table(entry, here, body.get(key) or {}, typed, rows)
        else:
            value = _value(entry, body, typed.get(PREFIX + here))
            if value is not None:
                out[key] = value
            continue
        if value or key in body:
            out[key] = value
    return out


def _rows(
    row: TableKey, path: str, body: list[Any], typed: Mapping[str, str], rows: Rows
) -> list[Any]:
    made = []
    rows[path] = []
    for n in row_numbers(path, typed):
        one = _table(row, f"{path}.{n}", (body[n:] or [{}])[0], typed, rows)
        if one:
            made.append(one)
            rows[path].append(n)
    return made


def _value(entry: TableKey, body: Mapping[str, Any], typed: str | None) -> Any:
    """Return a typed text as a value, or None when it was left blank; what stood there stays."""
    text = "\n".join((typed or "").strip().splitlines())
    if text == text_of(entry, body):
        return body.get(entry.key)
    if not text:
        return None
    if get_origin(entry.kind) is tuple:
        parts = text.splitlines() if entry.long else re.split(r"[,;]", text)
        number = float in get_args(entry.kind)
        return [_number(p.strip()) if number else p.strip() for p in parts if p.strip()]
    if entry.kind in (int, float, Decimal):
        return _number(text, exact=entry.kind is Decimal or EXACT in entry.marks)
    return text


def _number(text: str, *, exact: bool = False) -> Any:
    """Return a figure; where money is near, a decimal stays a text, for the reader to judge."""
    plain = text.replace(",", ".")
    if plain.removeprefix("-").isdecimal():
        return int(plain[:12])
    if exact:
        return plain if re.fullmatch(r"-?[0-9]+,[0-9]{1,2}", text) else text
    try:
        return float(plain)
    except ValueError:
        return text
