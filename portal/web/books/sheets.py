"""A document as a sheet to fill in, and a filled-in sheet as a document again. Knows no prices.

A table of keys becomes a list of fields, a table of alike tables becomes a grid, a list of tables
becomes rows with two blank ones at the end. What is left blank is left out.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from portal.web.books.labels import CHOICES, UNITS, field_label, long_text
from portal.web.books.shapes import COLUMNS, ELSEWHERE, Blank, spread

SPARE_ROWS = 2
MOST_ROWS = 60
PREFIX = "b."


@dataclass(slots=True)
class Cell:
    """One value to type: its field name, the words for it, what stands in it, what is wrong."""

    path: str
    label: Any
    text: str
    kind: str
    unit: Any = ""
    choices: tuple[tuple[str, Any], ...] = ()

    @property
    def name(self) -> str:
        """The name and id of the form field."""
        return PREFIX + self.path


@dataclass(slots=True)
class Grid:
    """Rows of alike values; `heads` name the columns, a row may have a word of its own."""

    title: Any
    path: str
    heads: tuple[Any, ...]
    rows: list[tuple[Any, list[Cell]]]
    grows: bool = False


@dataclass(slots=True)
class PrintSheet:
    """A section: single values first, then grids, then sections inside it."""

    title: Any
    path: str
    cells: list[Cell] = field(default_factory=list)
    grids: list[Grid] = field(default_factory=list)
    inner: list["PrintSheet"] = field(default_factory=list)

    def all_cells(self) -> Iterator[Cell]:
        """Yield every cell, in page order."""
        yield from self.cells
        for grid in self.grids:
            for _, row in grid.rows:
                yield from row
        for sheet in self.inner:
            yield from sheet.all_cells()


def sheet_of(
    kind: str, body: Mapping[str, Any], typed: Mapping[str, str] | None = None
) -> PrintSheet:
    """Return the sheet of a document, with as many rows as a form (`typed`) has sent."""
    whole = _sheet(spread(kind, body), "", kind, typed)
    if whole.inner and whole.cells:
        # single values at the top are seldom what a person came for
        whole.inner.append(PrintSheet(field_label("besides"), "besides", cells=whole.cells))
        whole.cells = []
    return whole


def cell_of(sheet: PrintSheet, key: str, rows: Mapping[str, list[int]]) -> Cell | None:
    """Return the cell that an error's key (`wheels.bands[1].price`) is about, or the nearest."""
    path = _as_shown(key, rows)
    cells = {cell.path: cell for cell in sheet.all_cells()}
    while path:
        inside = (cell for at, cell in cells.items() if at.startswith(path + "."))
        found = cells.get(path) or next(inside, None)
        if found is not None:
            return found
        path = path.rpartition(".")[0]
    return None


def gather(
    kind: str, body: Mapping[str, Any], typed: Mapping[str, str]
) -> tuple[dict[str, Any], dict[str, list[int]]]:
    """Return the document that a form tells, and for each list the rows that were filled in."""
    rows: dict[str, list[int]] = {}
    made = _gather(spread(kind, body), "", typed, rows, exact=kind == "prices")
    return made, rows


def _sheet(value: Mapping[str, Any], path: str, name: str, typed: Any) -> PrintSheet:
    sheet = PrintSheet(field_label(name, path), path)
    alike = _alike(value)
    for group in alike:
        sheet.grids.append(_grid("", {key: value[key] for key in group}, path))
    together = {key for group in alike for key in group}
    for key, one in value.items():
        here = _join(path, key)
        if key in ELSEWHERE or key in together:
            continue
        if _is_rows(key, one):
            _put(sheet, _rows(key, one, here, typed))
        elif isinstance(one, Mapping) and _is_grid(one):
            _put(sheet, _grid(key, one, here))
        elif isinstance(one, Mapping):
            sheet.inner.append(_sheet(one, here, key, typed))
        else:
            sheet.cells.append(_cell(key, one, here))
    return sheet


def _put(sheet: PrintSheet, grid: Grid) -> None:
    """Put a grid into its section; at the top it becomes a section of its own."""
    if sheet.path:
        sheet.grids.append(grid)
    else:
        sheet.inner.append(PrintSheet(grid.title, grid.path, grids=[replace(grid, title="")]))


def _is_rows(key: str, value: Any) -> bool:
    if not isinstance(value, list):
        return False
    return key in COLUMNS or any(isinstance(one, Mapping) for one in value)


def _is_grid(value: Mapping[str, Any]) -> bool:
    """Whether all its values are alike tables of single values."""
    alike = _alike(value)
    return len(alike) == 1 and len(alike[0]) == len(value)


def _alike(value: Mapping[str, Any]) -> list[list[str]]:
    """Return the keys of tables of single values with the same keys, where there are several."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for key, one in value.items():
        if not isinstance(one, Mapping):
            continue
        shown = {name: v for name, v in one.items() if name not in ELSEWHERE}
        if shown and not any(isinstance(v, Mapping | list) for v in shown.values()):
            groups.setdefault(tuple(shown), []).append(key)
    return [keys for keys in groups.values() if len(keys) > 1]


def _grid(key: str, value: Mapping[str, Any], path: str) -> Grid:
    columns = [name for name in next(iter(value.values())) if name not in ELSEWHERE]
    rows: list[tuple[Any, list[Cell]]] = []
    for row, one in value.items():
        here = _join(path, row)
        cells = [_cell(name, one[name], _join(here, name)) for name in columns]
        rows.append((field_label(row, here), cells))
    return Grid(
        field_label(key, path) if key else "",
        path,
        tuple(field_label(c, path) for c in columns),
        rows,
    )


def _rows(key: str, value: list[Any], path: str, typed: Any) -> Grid:
    columns = list(dict.fromkeys([*COLUMNS.get(key, ()), *(n for one in value for n in one)]))
    count = len(value) + SPARE_ROWS
    if typed is not None:
        count = max(count, len(_row_numbers(path, typed)))
    samples = value[0] if value else {}
    rows: list[tuple[Any, list[Cell]]] = []
    for n in range(min(count, MOST_ROWS)):
        one = value[n] if n < len(value) else {}
        rows.append(
            (
                None,
                [
                    _cell(c, one.get(c, Blank(samples.get(c, ""))), f"{path}.{n}.{c}")
                    for c in columns
                ],
            )
        )
    return Grid(
        field_label(key, path), path, tuple(field_label(c, path) for c in columns), rows, grows=True
    )


def _cell(key: str, value: Any, path: str) -> Cell:
    sample = value.sample if isinstance(value, Blank) else value
    text = "" if isinstance(value, Blank) else _text(key, value)
    kind = "text"
    if key in CHOICES:
        kind = "choice"
    elif isinstance(sample, bool):
        kind, text = "tick", "1" if value is True else ""
    elif long_text(key):
        kind = "long"
    elif isinstance(sample, int | float) or re.fullmatch(r"[0-9]+(\.[0-9]+)?", str(sample)):
        kind = "number"
    return Cell(path, field_label(key, path), text, kind, UNITS.get(key, ""), CHOICES.get(key, ()))


def _text(key: str, value: Any) -> str:
    if isinstance(value, list):
        return ("\n" if long_text(key) else ", ").join(f"{one}" for one in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _gather(
    value: Mapping[str, Any],
    path: str,
    typed: Mapping[str, str],
    rows: dict[str, list[int]],
    *,
    exact: bool,
) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, one in value.items():
        here = _join(path, key)
        if key in ELSEWHERE:
            out[key] = one
        elif _is_rows(key, one):
            out[key] = _gather_rows(key, one, here, typed, rows, exact=exact)
        elif isinstance(one, Mapping):
            inner = _gather(one, here, typed, rows, exact=exact)
            was_blank = all(isinstance(v, Blank) for v in one.values())
            if inner or not was_blank:
                out[key] = inner
        else:
            sample = one.sample if isinstance(one, Blank) else one
            read = _read(key, sample, typed.get(PREFIX + here), exact=exact)
            if read is not None:
                out[key] = read
    return out


def _gather_rows(
    key: str,
    value: list[Any],
    path: str,
    typed: Mapping[str, str],
    rows: dict[str, list[int]],
    *,
    exact: bool,
) -> list[Any]:
    samples = value[0] if value else {}
    columns = list(dict.fromkeys([*COLUMNS.get(key, ()), *(n for one in value for n in one)]))
    made, kept = [], []
    for n in _row_numbers(path, typed):
        row = {}
        for c in columns:
            read = _read(c, samples.get(c, ""), typed.get(f"{PREFIX}{path}.{n}.{c}"), exact=exact)
            if read is not None:
                row[c] = read
        if row:
            made.append(row)
            kept.append(n)
    rows[path] = kept
    return made


def _row_numbers(path: str, typed: Mapping[str, str]) -> list[int]:
    found = {
        int(m[1])
        for name in typed
        if (m := re.match(re.escape(PREFIX + path) + r"\.([0-9]{1,2})\.", name))
    }
    return sorted(found)[:MOST_ROWS]


def _read(key: str, sample: Any, text: str | None, *, exact: bool) -> Any:
    """Return a typed text as a value of the kind of `sample`, or None when it was left blank."""
    if isinstance(sample, bool):
        return text is not None
    kept = (text or "").strip()
    if not kept:
        return None
    if isinstance(sample, list):
        parts = kept.splitlines() if long_text(key) else re.split(r"[,;]", kept)
        one = sample[0] if sample else ""
        return [_number(p.strip(), one, exact=exact) for p in parts if p.strip()]
    return _number(kept, sample, exact=exact)


def _number(text: str, sample: Any, *, exact: bool) -> Any:
    if isinstance(sample, str | bool):
        looks_exact = re.fullmatch(r"-?[0-9]+,[0-9]{1,2}", text) and exact
        return text.replace(",", ".") if looks_exact else text
    plain = text.replace(",", ".")
    if plain.removeprefix("-").isdecimal():
        return int(plain[:12])
    try:
        # where money is near, a decimal stays a text: the reader turns it into an exact figure
        return plain if exact else float(plain)
    except ValueError:
        return text


def _as_shown(key: str, rows: Mapping[str, list[int]]) -> str:
    """Turn `wheels.bands[1].price` into the path of the row that the person sees."""
    parts = re.sub(r"\[(\d+)\]", r".\1", key).split(".")
    shown: list[str] = []
    for part in parts:
        kept = rows.get(".".join(shown))
        if kept is not None and part.isdecimal() and int(part) < len(kept):
            shown.append(str(kept[int(part)]))
        else:
            shown.append(part)
    return ".".join(shown)


def _join(path: str, key: Any) -> str:
    return f"{path}.{key}" if path else str(key)
