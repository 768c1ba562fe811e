"""A document as a sheet to fill in. Knows no prices: what is asked for stands in the shape.

A table of keys becomes a list of fields, a group of alike tables becomes a grid, a list of tables
becomes rows with two blank ones at the end.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import Enum
from typing import Any

from flask_babel import gettext as _

from portal.craft.schema import TableKey, entries
from portal.shop.calendar.hours import Hours
from portal.shop.documents import sheet as document
from portal.web.kit.i18n.languages import render

SPARE_ROWS = 2
MOST_ROWS = 60
PREFIX = "b."
MOST_NARROW = 3  # columns of a table that fits beside another
NUMBERS = (int, float, Decimal)


@dataclass(slots=True)
class Cell:
    """One value to type: where it stands, its words, what stands in it."""

    path: str
    label: str
    text: str
    kind: str
    unit: str
    entry: TableKey

    @property
    def name(self) -> str:
        """The name of the form field, which is also its id."""
        return PREFIX + self.path


@dataclass(slots=True)
class Grid:
    """Rows of alike values; `heads` name the columns, a row may have a word of its own."""

    title: str
    path: str
    heads: tuple[str, ...]
    rows: list[tuple[str | None, list[Cell]]]
    grows: bool = False


@dataclass(slots=True)
class PrintSheet:
    """A section: single values first, then grids, then sections inside it."""

    title: str
    path: str
    cells: list[Cell] = field(default_factory=list)
    grids: list[Grid] = field(default_factory=list)
    inner: list["PrintSheet"] = field(default_factory=list)

    @property
    def is_wide(self) -> bool:
        """Whether it needs the whole width: a table of many columns, or long texts."""
        long = any(cell.kind == "long" for cell in self.cells)
        return long or any(_is_wide(grid) for grid in self.grids)

    def all_cells(self) -> Iterator[Cell]:
        """Yield every cell, in the order of the page."""
        yield from self.cells
        for grid in self.grids:
            for _word, row in grid.rows:
                yield from row
        for sheet in self.inner:
            yield from sheet.all_cells()


def _is_wide(grid: Grid) -> bool:
    """Whether a table has many columns, or sentences in one of several."""
    texts = any(cell.kind == "text" for _word, row in grid.rows for cell in row)
    return len(grid.heads) > MOST_NARROW - texts


def sheet_of(
    kind: str, body: Mapping[str, Any], typed: Mapping[str, str] | None = None
) -> PrintSheet:
    """Return the sheet of a document, with as many rows as a form (`typed`) has sent."""
    whole = _section(document(kind), "", body, typed or {})
    if whole.inner and whole.cells:
        # single values at the top are seldom what a person came for
        title = _("Other charges") if kind == "prices" else _("Other settings")
        whole.inner.append(PrintSheet(title, "besides", cells=whole.cells))
        whole.cells = []
    return whole


def cell_of(sheet: PrintSheet, key: str, rows: Mapping[str, list[int]]) -> Cell | None:
    """Return the cell that an error's key (`wheels.bands[1].price`) speaks of, or the nearest."""
    path = _as_shown(key, rows)
    cells = {cell.path: cell for cell in sheet.all_cells()}
    while path:
        inside = (cell for at, cell in cells.items() if at.startswith(path + "."))
        found = cells.get(path) or next(inside, None)
        if found is not None:
            return found
        path = path.rpartition(".")[0]
    return None


def named(kind: str, path: str) -> str:
    """Return the words for a place in a document: `wheels.bands[3].price`, or a cell's path."""
    at: TableKey | None = document(kind)
    words_so_far: list[str] = []
    for key in re.sub(r"\[(\d+)\]", r".\1", path).split("."):
        if key.isdecimal():
            at = at.row if at else None
            words_so_far.append(_("row %(n)s", n=int(key) + 1))
        else:
            at = at.keys.get(key) if at else None
            words_so_far.append(words(at) if at else key.replace("_", " "))
    return " · ".join(words_so_far)


def text_of(entry: TableKey, body: Mapping[str, Any]) -> str:
    """Return a value as it stands in its cell: as it was written, or what counts without it."""
    value = body.get(entry.key)
    if value is None:
        usual = entry.usual.value if isinstance(entry.usual, Enum) else entry.usual
        # nothing is not a choice: an empty price is not offered at all
        return str(usual) if usual and isinstance(usual, str | int) else ""
    if isinstance(value, list):
        return ("\n" if entry.long else ", ").join(str(one) for one in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def row_numbers(path: str, typed: Mapping[str, str]) -> list[int]:
    """Return the numbers of the rows of a list that a form has sent."""
    row = re.compile(re.escape(PREFIX + path) + r"\.([0-9]{1,2})\.")
    return sorted({int(m[1]) for name in typed if (m := row.match(name))})[:MOST_ROWS]


def title_of(kind: str) -> str:
    """Return the title of a document."""
    return words(document(kind))


def day_names() -> dict[str, str]:
    """Return the days of the week by their keys."""
    return {key: words(entry) for key, entry in entries(Hours).items()}


def words(entry: TableKey) -> str:
    """Return the words for a key; one without words is shown as it is."""
    return render(entry.label.title) if entry.label else entry.key.replace("_", " ")


def unit_of(entry: TableKey) -> str:
    """Return the unit that stands behind a value."""
    return render(entry.label.unit) if entry.label else ""


def joined(path: str, key: object) -> str:
    """Return the path of a key inside a table."""
    return f"{path}.{key}" if path else str(key)


def _section(table: TableKey, path: str, body: Mapping[str, Any], typed: Any) -> PrintSheet:
    sheet = PrintSheet(words(table), path)
    keys = _asked(table, [body])
    grouped = _alike(keys)
    for group in grouped:
        _put_grid(sheet, "", path, group, body, typed)
    together = {entry.key for group in grouped for entry in group}
    for entry in keys:
        here, value = joined(path, entry.key), body.get(entry.key)
        if entry.key in together:
            continue
        if entry.row is not None:
            _put(sheet, _rows(entry, entry.row, here, value or [], typed))
        elif entry.is_grid:
            members = _asked(entry, [value or {}])
            _put_grid(sheet, words(entry), here, members, value or {}, typed)
        elif entry.keys:
            sheet.inner.append(_section(entry, here, value or {}, typed))
        else:
            sheet.cells.append(_cell(entry, here, body))
    return sheet


def _put(sheet: PrintSheet, grid: Grid) -> None:
    """Put a grid into its section; at the top it becomes a section of its own."""
    if sheet.path or not grid.title:
        sheet.grids.append(grid)
    else:
        sheet.inner.append(PrintSheet(grid.title, grid.path, grids=[replace(grid, title="")]))


def _alike(keys: list[TableKey]) -> list[list[TableKey]]:
    """Return the tables of single values that hold the same, where there are several."""
    groups: dict[Any, list[TableKey]] = {}
    for entry in keys:
        if entry.is_flat:
            groups.setdefault(entry.kind, []).append(entry)
    return [group for group in groups.values() if len(group) > 1]


def _put_grid(  # a grid is known by its words, its place and its rows
    sheet: PrintSheet,
    title: str,
    path: str,
    members: list[TableKey],
    body: Mapping[str, Any],
    typed: Any,
) -> None:
    """Put a row for each of some alike tables; lists inside them become sections."""
    bodies = {entry.key: body.get(entry.key) or {} for entry in members}
    asked = _asked(members[0], bodies.values())
    columns = [column for column in asked if column.row is None]
    rows: list[tuple[str | None, list[Cell]]] = [
        (
            words(entry),
            [_cell(c, f"{joined(path, entry.key)}.{c.key}", bodies[entry.key]) for c in columns],
        )
        for entry in members
    ]
    _put(sheet, Grid(title, path, tuple(map(words, columns)), rows))
    for entry in members:
        for column in asked:
            here, value = joined(path, entry.key), bodies[entry.key].get(column.key)
            if column.row is not None and value:
                grid = _rows(column, column.row, f"{here}.{column.key}", value, typed)
                sheet.inner.append(PrintSheet(words(entry), here, grids=[grid]))


def _rows(entry: TableKey, row: TableKey, path: str, value: list[Any], typed: Any) -> Grid:
    columns = _asked(row, value)
    count = max(len(value) + SPARE_ROWS, len(row_numbers(path, typed)))
    rows: list[tuple[str | None, list[Cell]]] = [
        (None, [_cell(c, f"{path}.{n}.{c.key}", (value[n:] or [{}])[0]) for c in columns])
        for n in range(min(count, MOST_ROWS))
    ]
    return Grid(words(entry), path, tuple(map(words, columns)), rows, grows=True)


def _asked(table: TableKey, bodies: Iterable[Mapping[str, Any]]) -> list[TableKey]:
    """Return the keys that a sheet asks for: none that a page of its own changes."""
    return [
        entry
        for entry in table.asked
        if not entry.rare or any(entry.key in body for body in bodies)
    ]


def _cell(entry: TableKey, path: str, body: Mapping[str, Any]) -> Cell:
    kind = "text"
    if entry.is_word:
        kind = "choice"
    elif entry.long:
        kind = "long"
    elif entry.kind in NUMBERS:
        kind = "number"
    return Cell(path, words(entry), text_of(entry, body), kind, unit_of(entry), entry)


def _as_shown(key: str, rows: Mapping[str, list[int]]) -> str:
    """Turn `wheels.bands[1].price` into the path of the row that the person sees."""
    parts = re.sub(r"\[(\d+)\]", r".\1", key).split(".")
    shown: list[str] = []
    for part in parts:
        shown_rows = rows.get(".".join(shown))
        if shown_rows is not None and part.isdecimal() and int(part) < len(shown_rows):
            shown.append(str(shown_rows[int(part)]))
        else:
            shown.append(part)
    return ".".join(shown)
