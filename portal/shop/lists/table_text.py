"""Pasted text and CSV as a table of cells. Any text is read; nothing is raised."""

import csv
import io

MOST_TEXT = 100_000  # characters
MOST_LINES = 500
MOST_CELLS = 40
MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"
# a tab is what a spreadsheet copies; semicolons part columns where decimals follow a comma
SEPARATORS = ("\t", ";", ",")

Table = tuple[tuple[str, ...], ...]


def read_table(text: str) -> Table:
    """Return the lines of a text as cells, without empty lines (RFC 4180, and what is near it)."""
    text = text[:MOST_TEXT].removeprefix(MARK).replace("\0", "")
    text = "\n".join(text.splitlines())
    separator = next((one for one in SEPARATORS if one in text), ",")
    return tidy_table(_quoted(text, separator) or _plain(text, separator))


def tidy_table(lines: list[list[str]]) -> Table:
    """Return lines of cells within the limits, without those in which nothing stands."""
    cut = (_without_end([cell.strip() for cell in line[:MOST_CELLS]]) for line in lines)
    return tuple(line for line in cut if line)[:MOST_LINES]


def _without_end(cells: list[str]) -> tuple[str, ...]:
    """Return a line without the empty cells at its end."""
    filled = [at for at, cell in enumerate(cells, 1) if cell]
    return tuple(cells[: filled[-1]]) if filled else ()


def decode(data: bytes) -> str:
    """Return the text of a file: UTF-8 or UTF-16 with a mark, else Windows-1252.

    That one is what spreadsheets in western Europe write without a mark (common practice).
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def _quoted(text: str, separator: str) -> list[list[str]] | None:
    """Return the lines with quoted cells; None where the quotes don't close, as inch signs do."""
    try:
        return list(csv.reader(io.StringIO(text), delimiter=separator, strict=True))
    except csv.Error:
        return None


def _plain(text: str, separator: str) -> list[list[str]]:
    return [line.split(separator) for line in text.splitlines()]
