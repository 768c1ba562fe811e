"""The rows of a list as fields, one form for each row; and rows from what was pasted or sent."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from flask import request
from flask_babel import lazy_gettext as _l
from wtforms import FileField, Form

from portal.craft.messages import CraftError
from portal.craft.parts import Damage, Gloss, Layer, Metal, PartKind, System, WheelBuild
from portal.orders.trade.list_view import ListedSet, ListView
from portal.shop.lists.columns import LONGEST_CELL, ListColumn, OnThem, TypedRow, row_of
from portal.shop.lists.heading import MOST_ROWS, ReadList, read_list
from portal.shop.lists.spreadsheet import MOST_BYTES, TOO_LARGE, is_spreadsheet, read_spreadsheet
from portal.shop.lists.table_text import MOST_TEXT, decode, read_table
from portal.web.kit.forms import (
    AreaField,
    Bounded,
    CheckboxField,
    OnceForm,
    PageForm,
    TextField,
)
from portal.web.kit.i18n.languages import label
from portal.web.kit.slots import start_of
from portal.web.trade.words import list_words

NUMBERS = "numbers"
# what may stand in a cell, told as suggestions
SUGGESTED: Mapping[ListColumn, tuple[Any, ...]] = {
    ListColumn.PARTS: tuple(PartKind),
    ListColumn.MADE_OF: (*WheelBuild, *(one for one in Metal if one.value not in set(WheelBuild))),
    ListColumn.OLD_FINISH: tuple(Layer),
    ListColumn.DAMAGE: tuple(Damage),
    ListColumn.ON_THEM: tuple(OnThem),
    ListColumn.COATS: tuple(System),
    ListColumn.GLOSS: tuple(Gloss),
}


class RowForm(Bounded, Form):
    """The fields of one row; a cell may hold anything, so nothing is refused here."""

    def add_error(self, problems: Mapping[ListColumn, Any]) -> None:
        """Put what is wrong beside the cells."""
        for column, sentence in problems.items():
            field = self._fields[column.value]
            field.errors = [*field.errors, sentence]


class BookForm(OnceForm):
    """What is chosen and accepted for the whole list."""

    confirmed = CheckboxField(_l("I have read and accept these points"))


class TableForm(PageForm):
    """Where a list comes from: pasted, or a file."""

    text = AreaField(_l("Paste rows from your table"), longest=MOST_TEXT)
    file = FileField(_l("Or choose a spreadsheet (.xlsx) or CSV file"))


class ListForm:
    """All forms of the page as one, for the list of errors."""

    def __init__(self, head: BookForm, rows: Sequence[RowForm]) -> None:
        self.head = head
        self.rows = tuple(rows)

    def __iter__(self) -> Iterator[Any]:
        yield from self.head
        for form in self.rows:
            yield from form

    @property
    def errors(self) -> list[Any]:
        """Everything that is wrong, field by field."""
        return [field.errors for field in self if field.errors]

    @property
    def form_errors(self) -> list[Any]:
        """What belongs to no field."""
        return list(self.head.form_errors)


def row_form(one: ListedSet) -> RowForm:
    """Return the fields of a row, with what is wrong beside them."""
    columns = [c for c in ListColumn if c is not ListColumn.REST or one.row.cell(c)]
    fields = {c.value: TextField(_l(c.title), longest=LONGEST_CELL) for c in columns}
    kind = type("FilledRow", (RowForm,), fields)
    data = {c.value: one.row.cell(c) for c in columns}
    form: RowForm = kind(prefix=f"r{one.row.number}-", data=data)
    for column in columns:
        field = form[column.value]
        field.errors = []
        # the list of errors says which row it is
        field.description = _l("Row %(number)s", number=one.row.number)
        if column in SUGGESTED:
            field.render_kw = {"list": f"words-{column.value}", **(field.render_kw or {})}
    form.add_error(one.wrong)
    return form


def list_form(view: ListView) -> ListForm:
    """Return the form of a list as it is kept."""
    return ListForm(BookForm(formdata=None), [row_form(one) for one in view.sets])


def rows_sent() -> tuple[TypedRow, ...]:
    """Return the rows as they stand on the page that was sent, without one that is taken out."""
    out = request.form.get("do", "").partition("remove:")[2]
    numbers = [n for n in request.form.get(NUMBERS, "").split() if n.isdecimal()][:MOST_ROWS]
    return tuple(_row_sent(int(n[:4])) for n in numbers if n != out)


def _row_sent(number: int) -> TypedRow:
    cells = {
        c: request.form.get(f"r{number}-{c.value}", "")[: 2 * LONGEST_CELL] for c in ListColumn
    }
    return row_of(number, cells)


def table_sent(form: TableForm) -> ReadList | None:
    """Return the rows that were pasted or sent; None where the form says what is wrong."""
    data = form.file.data.read(MOST_BYTES + 1) if form.file.data else b""
    if not data:
        return read_list(read_table(str(form.text.data or "")), list_words())
    try:
        if len(data) > MOST_BYTES:
            raise CraftError(TOO_LARGE)
        table = read_spreadsheet(data) if is_spreadsheet(data) else read_table(decode(data))
    except CraftError as refusal:
        form.add_error("file", refusal.sentence)
        return None
    return read_list(table, list_words())


def suggestions() -> dict[str, list[str]]:
    """Return the words that may stand in each column, in the page's language."""
    return {column.value: [label(one) for one in words] for column, words in SUGGESTED.items()}


def slot_sent() -> datetime | None:
    """Return the drop-off time that was chosen."""
    return start_of(request.form.get("slot", ""))
