"""A spreadsheet file (ISO/IEC 29500, .xlsx) as a table of cells, and one with a table in it.

Read with suspicion: size, unpacked size and the number of cells are limited before anything is
read, a file with a document type is refused, and no formula is worked out: what counts is the
value that the file keeps beside it.
"""

import io
import zipfile
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from functools import cache
from importlib import import_module
from typing import Any

from portal.craft.messages import CraftError, Message
from portal.shop.lists.table_text import MOST_CELLS, MOST_LINES, Table, tidy_table

MOST_BYTES = 1_000_000
MOST_UNPACKED = 12_000_000
MOST_ENTRIES = 300
ZIP = b"PK"
BEGINNING = 4096  # bytes in which an XML file may declare a document type

TOO_LARGE = Message("This file is too large. A list may have up to 1 MB.")
NOT_READ = Message(
    "We can't read this file. Save it as a spreadsheet (.xlsx) or as CSV, or paste the rows below."
)


@cache
def _library() -> Any:
    """Return the spreadsheet library; importing it takes a while, so only a file pays for it."""
    return import_module("openpyxl")


def is_spreadsheet(data: bytes) -> bool:
    """Return whether a file begins as a spreadsheet does."""
    return data.startswith(ZIP)


def read_spreadsheet(data: bytes) -> Table:
    """Return the cells of the first sheet as texts; raise CraftError for what is not read."""
    if len(data) > MOST_BYTES:
        raise CraftError(TOO_LARGE, key="file")
    try:
        _check_package(data)
        book = _library().load_workbook(
            io.BytesIO(data), read_only=True, data_only=True, keep_links=False
        )
        return tidy_table(_lines(book.worksheets[0]))
    except CraftError:
        raise
    except Exception as problem:
        # whatever a broken file makes of the library, it can't be read
        raise CraftError(NOT_READ, key="file") from problem


def _check_package(data: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        entries = package.infolist()
        if len(entries) > MOST_ENTRIES or sum(one.file_size for one in entries) > MOST_UNPACKED:
            raise CraftError(TOO_LARGE, key="file")
        for one in entries:
            with package.open(one) as file:
                if b"<!DOCTYPE" in file.read(BEGINNING).replace(b"\0", b"").upper():
                    raise CraftError(NOT_READ, key="file")


def _lines(sheet: Any) -> list[list[str]]:
    # the file's own word for how large it is may be anything
    sheet.reset_dimensions()
    rows = sheet.iter_rows(max_row=MOST_LINES, max_col=MOST_CELLS, values_only=True)
    return [[_text(value) for value in row] for row in rows]


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)


def write_spreadsheet(title: str, lines: Iterable[Sequence[str]]) -> bytes:
    """Return a spreadsheet of one sheet, its first line as heading; every cell is a text."""
    book = _library().Workbook(write_only=True)
    sheet = book.create_sheet(title[:31])
    sheet.freeze_panes = "A2"
    for number in range(1, MOST_CELLS + 1):
        sheet.column_dimensions[_column_letter(number)].width = 22
    for line in lines:
        sheet.append([_text_cell(sheet, text) for text in line])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _column_letter(number: int) -> str:
    return str(import_module("openpyxl.utils").get_column_letter(number))


def _text_cell(sheet: Any, text: str) -> Any:
    cell = import_module("openpyxl.cell").WriteOnlyCell(sheet, value=text)
    cell.data_type = "s"
    return cell
