"""A table of cells as the rows of a list: by its headings, or in the order of the template."""

from dataclasses import dataclass

from portal.shop.lists.columns import IN_TEMPLATE, ListColumn, TypedRow, row_of
from portal.shop.lists.table_text import Table
from portal.shop.lists.words import Words

MOST_ROWS = 30


@dataclass(frozen=True, slots=True)
class ReadList:
    """The rows of a table; the headings that mean nothing here, and how many rows were too many."""

    rows: tuple[TypedRow, ...]
    ignored: tuple[str, ...] = ()
    left_off: int = 0


def read_list(table: Table, words: Words) -> ReadList:
    """Return the rows of a table."""
    head = table[0] if table else ()
    columns = _columns(head, words)
    ignored: tuple[str, ...] = ()
    lines = table
    if columns is None:
        columns = IN_TEMPLATE
    else:
        lines = table[1:]
        ignored = tuple(
            cell for cell, column in zip(head, columns, strict=False) if cell and column is None
        )
    rows = tuple(_row(at, line, columns) for at, line in enumerate(lines[:MOST_ROWS], 1))
    filled = tuple(row for row in rows if row.cells)
    return ReadList(filled, ignored, max(len(lines) - MOST_ROWS, 0))


def _columns(head: tuple[str, ...], words: Words) -> tuple[ListColumn | None, ...] | None:
    """Return what each heading means, the first where two mean the same; None without headings."""
    found: list[ListColumn | None] = []
    for cell in head:
        column = words.find(ListColumn, cell)
        found.append(None if column in found else column)
    named = sum(1 for one in found if one)
    filled = sum(1 for cell in head if cell)
    # a word of ours may stand in any row; where most cells are such words they are headings
    is_heading = named > 0 and named * 2 >= filled
    return tuple(found) if is_heading else None


def _row(number: int, line: tuple[str, ...], columns: tuple[ListColumn | None, ...]) -> TypedRow:
    cells = {c: cell for c, cell in zip(columns, line, strict=False) if c is not None}
    rest = " ".join(cell for cell in line[len(columns) :] if cell)
    return row_of(number, {**cells, ListColumn.REST: rest} if rest else cells)
