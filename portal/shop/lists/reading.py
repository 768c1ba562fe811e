"""A row of a list as an order of one set, by the same rules as the portal's own pages.

Each cell is read by itself; what is wrong stands beside it. An empty cell says what is usual there
only where that can't mislead: coats, gloss, and what is fitted by the garage's standing way. Old
finish, metal and what is closed are then "don't know", which we look at when the parts come.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TypeVar

from portal.craft.bringing import Whereabouts
from portal.craft.declared import read_declared, write_declared
from portal.craft.facts import CAN_BE_CLOSED
from portal.craft.geometry import usual_size
from portal.craft.messages import CraftError, Message
from portal.craft.offered import Stock
from portal.craft.parts import (
    LONGEST_WHAT,
    Bringing,
    Closed,
    Damage,
    Declared,
    Item,
    Layer,
    Metal,
    PartKind,
    PartSet,
    WheelBuild,
)
from portal.craft.reading import too_long
from portal.craft.removals import removals
from portal.shop.assessment.defaults import usually_fitted
from portal.shop.lists.cells import (
    NO_SIZE,
    not_known,
    read_box,
    read_count,
    read_day,
    read_wheel_size,
    read_word,
    read_words,
)
from portal.shop.lists.colour_cells import read_finish
from portal.shop.lists.columns import LONGEST_CELL, ListColumn, OnThem, TypedRow
from portal.shop.lists.words import Words

KEY = "A"
LONGEST_REFERENCE = 60
# what the shared reading blames, and where that stands in a list
AT_COLUMN = {
    "count": ListColumn.COUNT,
    "rim": ListColumn.SIZE,
    "tyre": ListColumn.SIZE,
    "size_mm": ListColumn.SIZE,
    "build": ListColumn.MADE_OF,
    "metal": ListColumn.MADE_OF,
    "layers": ListColumn.OLD_FINISH,
    "damage": ListColumn.DAMAGE,
    "finish": ListColumn.COLOUR,
    "what": ListColumn.PARTS,
    "note": ListColumn.NOTE,
}
Told = TypeVar("Told")


@dataclass(frozen=True, slots=True)
class Reading:
    """What rows are read by: words, powders, kinds that have a price, standing way, today."""

    words: Words
    stock: Stock
    kinds: frozenset[PartKind]
    today: date
    on_them: OnThem = OnThem.TYRES


@dataclass(frozen=True, slots=True)
class ReadRow:
    """A row with what it says: an order of one set, or what is wrong in which cell."""

    row: TypedRow
    declared: Declared | None = None
    problems: Mapping[ListColumn, Message] = field(default_factory=dict)
    wanted: date | None = None

    @property
    def good(self) -> bool:
        """Whether the row can be priced."""
        return self.declared is not None


class _Cells:
    """The cells of a row while they are read; problems are collected beside their columns."""

    def __init__(self, row: TypedRow) -> None:
        self.row = row
        self.problems: dict[ListColumn, Message] = {}

    def read(self, column: ListColumn, reader: Callable[[str], Told], empty: Told) -> Told:
        """Return what a cell says, `empty` where nothing stands in it or it can't be read."""
        text = self.row.cell(column)
        if not text:
            return empty
        try:
            if len(text) > LONGEST_CELL:
                raise CraftError(too_long(LONGEST_CELL))
            return reader(text)
        except CraftError as wrong:
            self.problems[column] = wrong.sentence
            return empty

    def need(self, column: ListColumn, sentence: Message) -> None:
        """Blame an empty cell that a row can't be read without."""
        if not self.row.cell(column):
            self.problems[column] = sentence


def read_row(row: TypedRow, by: Reading) -> ReadRow:
    """Return what a row says. Never raise: what is wrong stands beside its cell."""
    cells = _Cells(row)
    if row.cell(ListColumn.REST):
        cells.problems[ListColumn.REST] = Message(
            "This row has more cells than the heading. Check each cell, then empty this one."
        )
    kind, what = cells.read(ListColumn.PARTS, lambda text: _kind(text, by), (PartKind.WHEEL, ""))
    one = PartSet(KEY, kind, 1, what=what)
    one = _described(one, cells, by)
    one = _old(one, cells, by)
    fitted = _fitted(kind, cells, by)
    one = replace(one, fitted=fitted)
    one = replace(one, finish=read_finish(cells, one, by.words, by.stock))
    old = cells.read(ListColumn.BEFORE_1980, lambda text: _yes(text, by), False)  # noqa: FBT003  # an empty cell
    wanted = cells.read(ListColumn.WANTED, lambda text: read_day(text, by.today), None)
    cells.read(ListColumn.REFERENCE, lambda text: _short(text, LONGEST_REFERENCE), "")
    if cells.problems:
        return ReadRow(row, None, cells.problems, wanted)
    order = replace(_order(one), original_before_1980=old)
    return _checked(ReadRow(row, order, {}, wanted))


def _kind(text: str, by: Reading) -> tuple[PartKind, str]:
    """Return the kind of part; a part without a kind of its own is given as `other: lamp base`."""
    first, colon, rest = text.partition(":")
    kind = read_word(PartKind, first if colon else text, by.words)
    if kind not in by.kinds:
        raise CraftError(not_known(text))
    if kind is not PartKind.OTHER:
        return kind, ""
    return kind, _short(rest.strip() or text, LONGEST_WHAT)


def _yes(text: str, by: Reading) -> bool:
    """Return whether a cell says yes; who isn't sure says yes, too."""
    if by.words.says_yes(text):
        return True
    if by.words.says_none(text):
        return False
    raise CraftError(Message("Write yes or no. Write yes where you are not sure."))


def _short(text: str, longest: int) -> str:
    if len(text) > longest:
        raise CraftError(too_long(longest))
    return text


def _described(one: PartSet, cells: _Cells, by: Reading) -> PartSet:
    """Return the set with number, size and metal."""
    cells.need(ListColumn.COUNT, Message("Enter how many there are."))
    one = replace(
        one,
        count=cells.read(ListColumn.COUNT, read_count, 1),
        note=cells.read(ListColumn.NOTE, str, ""),
    )
    if one.kind is PartKind.WHEEL:
        cells.need(ListColumn.SIZE, NO_SIZE)
        read = cells.read(ListColumn.SIZE, read_wheel_size, None)
        build = cells.read(
            ListColumn.MADE_OF,
            lambda text: read_word(WheelBuild, text, by.words),
            WheelBuild.UNKNOWN,
        )
        one = replace(one, build=build)
        if read is None:
            return one
        size, rim, tyre = read
        return replace(one, rim=rim, tyre=tyre, rim_text=size.rim_text, tyre_text=size.tyre_text)
    if usual_size(one.kind) is None:
        cells.need(ListColumn.SIZE, NO_SIZE)
    return replace(
        one,
        metal=cells.read(
            ListColumn.MADE_OF, lambda text: read_word(Metal, text, by.words), Metal.UNKNOWN
        ),
        size_mm=cells.read(ListColumn.SIZE, lambda text: read_box(text, one.kind), None),
        closed=(Closed.UNKNOWN,) if one.kind in CAN_BE_CLOSED else (),
    )


def _old(one: PartSet, cells: _Cells, by: Reading) -> PartSet:
    """Return the set with its old finish and its damage."""

    def damage(text: str) -> tuple[Damage, ...]:
        return () if by.words.says_none(text) else read_words(Damage, text, by.words)

    unknown: tuple[Layer, ...] = (Layer.UNKNOWN,)
    layers = cells.read(
        ListColumn.OLD_FINISH, lambda text: read_words(Layer, text, by.words), unknown
    )
    return replace(one, layers=layers, damage=cells.read(ListColumn.DAMAGE, damage, ()))


def _fitted(kind: PartKind, cells: _Cells, by: Reading) -> tuple[Item, ...]:
    """Return what is fitted: on wheels as the cell or the standing way says."""
    usual = usually_fitted(kind, None)
    if kind is not PartKind.WHEEL:
        bare = cells.row.cell(ListColumn.ON_THEM) and cells.read(
            ListColumn.ON_THEM, lambda text: read_word(OnThem, text, by.words), OnThem.BARE
        )
        return () if bare is OnThem.BARE else usual
    on = cells.read(ListColumn.ON_THEM, lambda text: read_word(OnThem, text, by.words), by.on_them)
    if on is OnThem.BARE:
        return ()
    return usual if on is OnThem.TYRES else tuple(item for item in usual if item is not Item.TYRE)


def _order(one: PartSet) -> Declared:
    """Return the order of one set: how it comes, and who takes off what is on it."""
    bringing, where = Bringing.BARE, None
    if one.kind is PartKind.WHEEL:
        on_tyres = Item.TYRE in one.fitted
        bringing = Bringing.COMPLETE if on_tyres else Bringing.BARE
        where = Whereabouts.OFF if one.fitted else Whereabouts.BARE
    who = {removal.item: removal.who_may[0] for removal in removals(one, bringing)}
    return Declared(sets=(replace(one, removers=who),), bringing=bringing, whereabouts=where)


def _checked(row: ReadRow) -> ReadRow:
    """Return the row as the shared reading of orders takes it, or with what that refuses."""
    assert row.declared is not None  # only good rows come here
    try:
        return replace(row, declared=read_declared(write_declared(row.declared)))
    except CraftError as wrong:
        blamed = wrong.key.rpartition("].")[2].partition(".")[0]
        return replace(
            row,
            declared=None,
            problems={AT_COLUMN.get(blamed, ListColumn.PARTS): wrong.sentence},
        )
