"""The columns of a list, in the order of the template."""

from collections.abc import Mapping
from dataclasses import dataclass

from portal.craft.titled import Titled

LONGEST_CELL = 200


class ListColumn(Titled):
    """What a cell tells of a set."""

    REFERENCE = "reference", "Your reference"
    PARTS = "parts", "Parts"
    COUNT = "count", "How many"
    SIZE = "size", "Size"
    MADE_OF = "made_of", "Made of"
    OLD_FINISH = "old_finish", "Old finish"
    DAMAGE = "damage", "Damage"
    ON_THEM = "on_them", "On them now"
    COATS = "coats", "Coats"
    GLOSS = "gloss", "Gloss"
    COLOUR = "colour", "Colour"
    WANTED = "wanted", "Needed by"
    NOTE = "note", "Note"
    BEFORE_1980 = "before_1980", "Painted before 1980"
    # what stood behind the last column; it must not be lost in silence
    REST = "rest", "More cells"


IN_TEMPLATE = tuple(one for one in ListColumn if one is not ListColumn.REST)
# a row can't be read without them
NEEDED = frozenset({ListColumn.COUNT, ListColumn.SIZE, ListColumn.COLOUR})


class OnThem(Titled):
    """What is on wheels when a garage brings them."""

    TYRES = "tyres", "With tyres"
    TYRES_OFF = "tyres_off", "Tyres off"
    BARE = "bare", "Bare"


@dataclass(frozen=True, slots=True)
class TypedRow:
    """A row as it was written: its number on the page, and its cells that are not empty."""

    number: int
    cells: Mapping[ListColumn, str]

    def cell(self, column: ListColumn) -> str:
        """Return what stands in a column, "" for nothing."""
        return self.cells.get(column, "")


def row_of(number: int, cells: Mapping[ListColumn, str]) -> TypedRow:
    """Return a row with tidy cells: one line each, nothing that can't be seen, no empty ones."""
    tidy = {column: tidy_cell(text) for column, text in cells.items()}
    return TypedRow(number, {column: text for column, text in tidy.items() if text})


def tidy_cell(text: str) -> str:
    """Return a cell as one line, without characters that can't be seen."""
    printable = "".join(ch if ch.isprintable() else " " for ch in text)
    return " ".join(printable.split())


def rows_to_json(rows: tuple[TypedRow, ...]) -> list[dict[str, str | int]]:
    """Return rows as plain JSON, as `rows_from_json` reads them."""
    return [
        {"number": row.number, **{column.value: text for column, text in row.cells.items()}}
        for row in rows
    ]


def rows_from_json(body: object) -> tuple[TypedRow, ...]:
    """Read what `rows_to_json` wrote."""
    if not isinstance(body, list):
        return ()
    return tuple(
        row_of(
            int(one.get("number", at)),
            {c: str(one[c.value]) for c in ListColumn if one.get(c.value)},
        )
        for at, one in enumerate(body, 1)
    )
