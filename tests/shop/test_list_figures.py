"""What rows of lists are read as, cell by cell, and what is said of wrong ones, line by line.

What they ought to be is held by `test_lists`, `test_list_files` and the laws there. Here nothing
may move unnoticed; `tests.shop.figures` draws the file anew.
"""

from collections.abc import Callable, Iterator
from dataclasses import fields, replace
from itertools import product
from pathlib import Path

import pytest

from portal.craft.messages import CraftError
from portal.craft.parts import Declared, PartKind, PartSet, System
from portal.shop.lists.cells import read_box, read_count, read_day, read_wheel_size
from portal.shop.lists.columns import ListColumn, OnThem, row_of, tidy_cell
from portal.shop.lists.heading import read_list
from portal.shop.lists.reading import ReadRow, read_row
from portal.shop.lists.table_text import decode, read_table
from portal.shop.lists.words import fold
from tests.craft.shelf import SHELF
from tests.readers import english
from tests.shop.figures import kept
from tests.shop.listed import TODAY, WORDS, reading
from tests.shop.test_appraisal_figures import plain

FILE = Path(__file__).with_name("list_figures.txt")
WHEELS = {ListColumn.COUNT: "4", ListColumn.SIZE: "8J x 18 ET35", ListColumn.COLOUR: "BLACK"}
PLATES = {
    ListColumn.PARTS: "plate",
    ListColumn.COUNT: "3",
    ListColumn.SIZE: "400 x 300 x 3 mm",
    ListColumn.COLOUR: "BLACK",
    ListColumn.GLOSS: "gloss",
}
EMPTY = PartSet("A", PartKind.WHEEL, 1)
CELLS: dict[ListColumn, tuple[str, ...]] = {
    ListColumn.REFERENCE: ("AB-12", "r" * 60, "r" * 61, "r" * 201),
    ListColumn.PARTS: (
        *("", "wheels", "Felgen", "chair", "table", "gate", "frame", "wheals", "?", "other"),
        *("other:", "other: lamp base", "other: " + "w" * 70, "wheels: four", "OTHER : x"),
    ),
    ListColumn.COUNT: ("", "0", "1", "40", "41", "4x", "4 pieces", "4.0", "4,5", "x", "12345"),
    ListColumn.SIZE: (
        *("", "?", "18", "18 inch", "8J x 18 ET35", "225/40 R18", "8J x 18, 225/40 R18", "x"),
        *("8J x 18, 225/45 R17", "8J x 18, 125/80 R18", "400x300x3", "400 x 300 x 3 mm!", "0"),
        *("0.5 x 300 x 300", "1 x 1 x 1 mm", "9 x 9 x 9 m", "9 x 9 x 9 m!", "13 x 1 x 1 m!"),
        *("12 x 1 x 1 m!", "300 x 200", "1 x 2 x 3 x 4", "40 cm x 12 in x 3.14 mm"),
    ),
    ListColumn.MADE_OF: ("", "cast", "forged", "steel", "Stahl", "aluminium", "wood", "?"),
    ListColumn.OLD_FINISH: (
        *("", "?", "original", "original + gravy", "original, powder", "original; powder/chrome"),
        *("paint over powder", "powder & powder", "none", "+"),
    ),
    ListColumn.DAMAGE: ("", "none", "kerb", "kerb, bend", "bend / kerb", "hungry", "-", "no"),
    ListColumn.ON_THEM: ("", "with tyres", "tyres off", "bare", "perhaps", "?"),
    ListColumn.COATS: ("", "single", "2", "Klarlack", "chrome", "texture", "seven", "?", "1"),
    ListColumn.GLOSS: ("", "gloss", "satin", "matt", "very"),
    ListColumn.COLOUR: (
        *("", "BLACK", "black", "RAL 9005", "9005", "from a sample", "purple rain", "#FFFFFF"),
        *("soot", "?", "grey", "RAL 7016 matt", "RAL 1", "RAL 9999", "red"),
    ),
    ListColumn.WANTED: (
        *("", "2026-06-01", "2026-06-02", "2026-6-3", "20.6.", "1/6", "2.6", "30.2.2026", "29.2."),
        *("20/06/2026", "soon", "20.6.26"),
    ),
    ListColumn.NOTE: ("by hand", "n" * 200, "n" * 201),
    ListColumn.BEFORE_1980: ("", "yes", "ja", "no", "?", "maybe"),
    ListColumn.REST: ("", "and this"),
}


def told(one: ReadRow) -> str:
    """Return a read row in one line: what is wrong, or what an empty order doesn't have."""
    wrong = " ".join(f"{column.value}: {english(says)}" for column, says in one.problems.items())
    order = one.declared
    parts = [] if order is None else [*_told(order.sets[0], EMPTY), *_told(order, Declared())]
    return f"{one.good:d} {wrong or ' '.join(parts)} {one.wanted or ''}".rstrip()


def _told(one: PartSet | Declared, usual: PartSet | Declared) -> Iterator[str]:
    for field in fields(one):
        value = getattr(one, field.name)
        if field.name != "sets" and value != getattr(usual, field.name):
            yield f"{field.name}={plain(value)}"


def cells() -> Iterator[str]:
    for base, (column, texts) in product((WHEELS, PLATES), CELLS.items()):
        yield told(read_row(row_of(1, base), reading()))
        for text in texts:
            read = read_row(row_of(1, {**base, column: text}), reading())
            yield f"{column.value} {text[:40]!r} {told(read)}"


def ways() -> Iterator[str]:
    for on, said in product(OnThem, (None, *OnThem)):
        on_them = {} if said is None else {ListColumn.ON_THEM: said.value}
        read = read_row(row_of(1, {**WHEELS, **on_them}), reading(on))
        yield f"{on.value} {said and said.value} {told(read)}"
    few = replace(reading(), kinds=frozenset({PartKind.WHEEL}))
    yield told(read_row(row_of(1, PLATES), few))
    none = replace(reading(), stock={})
    yield told(read_row(row_of(1, WHEELS), none))


def finishes() -> Iterator[str]:
    """Each word for coats and gloss with names that one, several or no powders have."""
    coats = ("", *(one.value for one in System))
    names = (*(one.name for one in SHELF.values()), "black", "#0A0A0A")
    for name, coat, gloss in product(names, coats, ("", "gloss", "satin")):
        asked = {ListColumn.COLOUR: name, ListColumn.COATS: coat, ListColumn.GLOSS: gloss}
        read = read_row(row_of(1, {**WHEELS, **asked}), reading())
        found = plain(read.declared.sets[0].finish) if read.declared else told(read)
        yield f"{name} / {coat} / {gloss}: {found}"


def _tried(reader: Callable[[], object]) -> str:
    try:
        return plain(reader())
    except CraftError as refused:
        return f"{refused.key} {english(refused.sentence)}"


def singly() -> Iterator[str]:
    for text in (*CELLS[ListColumn.COUNT], " 4", "4 ", "4 x", "4×", "4 St.", "4 4", "4.10", "9999"):
        yield f"{text!r} {_tried(lambda text=text: read_count(text))}"
    for text in CELLS[ListColumn.WANTED]:
        yield f"{text!r} {_tried(lambda text=text: read_day(text, TODAY))}"
    for text in CELLS[ListColumn.SIZE]:
        yield f"{text!r} {_tried(lambda text=text: read_wheel_size(text))}"
        for kind in (PartKind.PLATE, PartKind.OTHER):
            yield f"  {kind.value} {_tried(lambda text=text, kind=kind: read_box(text, kind))}"
    for text in ("", "ÄÖü ß", "a-b.c 12", "½", "À la carte", "ſ"):
        yield f"{text!r} {fold(text)} {tidy_cell(text)}"
    yield repr(tidy_cell("  a\tb\x00c\r\nd  "))


TABLES = (
    *(
        "",
        "\n\n",
        "a",
        "a,b;c",
        "a\tb;c,d",
        'a;"b;c";d',
        '"a""b",c',
        '18";4\n19";5',
        "a;;;\n;;;\nb",
    ),
    *("\N{ZERO WIDTH NO-BREAK SPACE}a;b", "a\0b;c", "a\x0bb;c\x85d;e", " a ; b ", "x;" * 45),
    *("How many;Size;Colour\n4;18;BLACK", "How many;Size;Colour;Price\n4;18;BLACK;9"),
    *("How many;;\n4;18;BLACK", "How many;x;y\n4", "How many;How many;Size\n4;5;18"),
    *("size;x\n18;4", "Menge;Größe;Farbe\n4;18;BLACK;more;", "wheels;4;18", "Size\n\n18\n" * 20),
)


def tables() -> Iterator[str]:
    for text in TABLES:
        table = read_table(text)
        found = read_list(table, WORDS)
        yield f"{text[:60]!r} {len(table)} {table[:3]}"
        for row in found.rows[:3]:
            cells = " ".join(f"{column.value}={cell}" for column, cell in row.cells.items())
            yield f"  {row.number} {cells}"
        yield f"  {len(found.rows)} {found.ignored} {found.left_off}"
    for data in (b"a;\xe4", b"\xff\xfea\0", b"\xfe\xff\0a\0", "ä".encode(), b"\x81", b""):
        yield f"{data!r} {decode(data)!r}"


RULES = (cells, ways, finishes, singly, tables)
SCENES: dict[str, Callable[[], Iterator[str]]] = {one.__name__: one for one in RULES}


@pytest.mark.parametrize("name", SCENES)
def test_what_lists_are_read_as(name: str) -> None:
    assert list(SCENES[name]()) == kept(FILE)[name]
