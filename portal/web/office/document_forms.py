"""A form made from a sheet, one field for each cell."""

from datetime import date
from typing import Any

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import HiddenField

from portal.web.kit.forms import AreaField, SelectChoiceField, TextField
from portal.web.office.editions import EditionForm
from portal.web.office.sheets import Cell, PrintSheet, named

LONGEST_CELL = 160
KEYS = {"autocomplete": "off", "spellcheck": "false"}


class DocumentForm(EditionForm):
    """The fields of every document's form besides its cells."""

    # whom a closed day hits, as the page has shown them
    reached = HiddenField()
    from_day = TextField(
        _l("Valid from"), longest=10, render_kw={"type": "date", "autocomplete": "off"}
    )


def form_for(kind: str, sheet: PrintSheet) -> DocumentForm:
    """Return the form of a sheet, filled from the request, else from the document."""
    cells = list(sheet.all_cells())
    fields: dict[str, Any] = {cell.name: _field(kind, cell) for cell in cells}
    made: DocumentForm = type("SheetForm", (DocumentForm,), fields)()
    return made


def day_of(form: DocumentForm) -> date | None:
    """Return the day from which a sheet holds; None for now, or with its error."""
    text = form.from_day.data or ""
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        form.add_error("from_day", _("Enter a date like 2026-06-01."))
        return None


def _field(kind: str, cell: Cell) -> Any:
    # where it stands, in words: the list of what is to mend names it
    place = named(kind, cell.path)
    if cell.kind == "choice":
        return SelectChoiceField(
            cell.label, description=place, choices=cell.entry.kind, default=cell.text
        )
    if cell.kind == "long":
        return AreaField(cell.label, description=place, default=cell.text, longest=500)
    keys = KEYS | ({"inputmode": "decimal"} if cell.kind == "number" else {})
    return TextField(
        cell.label, description=place, longest=LONGEST_CELL, default=cell.text, render_kw=keys
    )
