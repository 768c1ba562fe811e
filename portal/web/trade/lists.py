"""Lists: pasted or sent as a file, corrected row by row, booked in one press, printed."""

import csv
import io

from flask import Response, flash, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import ngettext

from portal.craft.finishes import powders_for
from portal.craft.messages import Message
from portal.craft.parts import Gloss, Powder, System
from portal.orders.kernel.errors import Overtaken, Refusal, Refused, Taken
from portal.orders.trade import jobs_view, list_view, lists
from portal.orders.trade.booking import book_list
from portal.orders.trade.list_view import ListView
from portal.shop.lists.columns import ListColumn
from portal.shop.lists.heading import MOST_ROWS, ReadList
from portal.shop.lists.spreadsheet import write_spreadsheet
from portal.shop.lists.template import template_lines
from portal.web.kit.forms import OnceForm
from portal.web.kit.i18n.languages import render
from portal.web.kit.paper import qr
from portal.web.kit.paper.printing import as_pdf
from portal.web.kit.request_context import fresh_token, now, number_of, shop, unit
from portal.web.kit.slots import name_of
from portal.web.trade.guard import for_firms, the_firm
from portal.web.trade.list_form import (
    ListForm,
    TableForm,
    list_form,
    rows_sent,
    slot_sent,
    suggestions,
    table_sent,
)
from portal.web.trade.words import list_words

WRONG = 422
# what a column takes that has no words of its own
HINTS = {
    ListColumn.REFERENCE: Message("Whose they are: your order number, a name or a number plate."),
    ListColumn.COUNT: Message("How many parts, such as 4."),
    ListColumn.SIZE: Message(
        "Wheels: rim marking, tyre size or inches, such as 8J x 18 ET35. Other parts: length x "
        "width x height in mm. “?” where we are to measure."
    ),
    ListColumn.COLOUR: Message("A RAL number, a name of our colours, or “from a sample”."),
    ListColumn.WANTED: Message("A day, such as 2026-12-04. We tell you where we can't keep it."),
    ListColumn.NOTE: Message("What we should know."),
    ListColumn.BEFORE_1980: Message(
        "Yes or no: painted before 1980, or from a lorry or an aircraft. Such paint may have "
        "lead in it. Write yes where you are not sure."
    ),
}
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"


@for_firms
def new_list() -> ResponseReturnValue:
    """Take in the rows of a new list."""
    form = TableForm()
    if form.is_submitted():
        found = table_sent(form) if form.validate() else None
        if found is not None:
            try:
                list_id = lists.new_list(unit(), the_firm().firm_id, found.rows)
            except Refused as refusal:
                form.add_error(refusal.key, refusal.sentence)
            else:
                _tell(found)
                return redirect(url_for("trade.one_list", list_id=list_id), 303)
    page = render_template(
        "trade/new_list.html",
        firm=the_firm(),
        form=form,
        columns=_columns(),
        words=suggestions(),
        hints=HINTS,
    )
    return make_response(page, WRONG if form.errors else 200)


@for_firms
def one_list(list_id: int) -> ResponseReturnValue:
    """Show a list with its prices and dates, and what is wrong in it."""
    view = _view(list_id)
    if view.booked_at is not None:
        return redirect(url_for("trade.booked", list_id=list_id), 303)
    return _list_page(view, list_form(view))


@for_firms
def change_list(list_id: int) -> ResponseReturnValue:
    """Keep a list as it was corrected; with the button for it, book it as it was shown."""
    view = _view(list_id)
    if view.booked_at is not None:
        return redirect(url_for("trade.booked", list_id=list_id), 303)
    as_shown = _cells(view) == [dict(row.cells) for row in rows_sent()]
    slot = slot_sent()
    if request.form.get("do") == "book" and as_shown and slot == view.slot:
        return _book(view)
    try:
        lists.save_rows(
            unit(),
            the_firm().firm_id,
            list_id,
            rows_sent(),
            slot,
            expected_version=number_of(request.form.get("version", "")[:9]),
        )
    except Overtaken as refusal:
        flash(render(refusal.sentence), "caution")
    except Refused as refusal:
        flash(render(refusal.sentence), "stop")
    else:
        if request.form.get("do") == "book":
            flash(_("Saved. Check the prices and dates, then book."))
    return redirect(url_for("trade.one_list", list_id=list_id), 303)


@for_firms
def add_rows(list_id: int) -> ResponseReturnValue:
    """Put more rows behind those of a list."""
    form = TableForm()
    found = table_sent(form) if form.validate() else None
    if found is not None:
        try:
            lists.add_rows(unit(), the_firm().firm_id, list_id, found.rows)
        except Refused as refusal:
            form.add_error(refusal.key, refusal.sentence)
        else:
            _tell(found)
            return redirect(url_for("trade.one_list", list_id=list_id), 303)
    view = _view(list_id)
    return make_response(_list_page(view, list_form(view), more=form), WRONG)


@for_firms
def drop_list(list_id: int) -> ResponseReturnValue:
    """Throw a list away."""
    lists.drop_list(unit(), the_firm().firm_id, list_id)
    flash(_("The list is deleted."), "go")
    return redirect(url_for("trade.front"), 303)


@for_firms
def booked(list_id: int) -> ResponseReturnValue:
    """Show what was booked: codes, dates, and what goes along with the parts."""
    firm = the_firm()
    lines = jobs_view.slips(unit(), firm.firm_id, list_id)
    return render_template(
        "trade/booked.html",
        firm=firm,
        lines=lines,
        list_id=list_id,
        facts=list_view.facts_of(unit(), firm.firm_id),
    )


@for_firms
def slips(list_id: int) -> ResponseReturnValue:
    """Show the sheet that goes along with the parts."""
    return _slips_page(list_id)


@for_firms
def slips_pdf(list_id: int) -> ResponseReturnValue:
    """Return the same as a PDF."""
    return as_pdf([_slips_page(list_id)], f"slips-{list_id}.pdf")


@for_firms
def template(kind: str) -> ResponseReturnValue:
    """Return an empty list with its headings and two examples, as spreadsheet or CSV."""
    lines = template_lines(render, _example_powder())
    name = _("list")
    if kind == "xlsx":
        answer = Response(write_spreadsheet(name, lines), mimetype=XLSX)
    else:
        out = io.StringIO()
        csv.writer(out, delimiter=";").writerows(lines)
        answer = Response((MARK + out.getvalue()).encode(), mimetype="text/csv")
    answer.headers["Content-Disposition"] = f'attachment; filename="list.{kind}"'
    return answer


def _book(view: ListView) -> ResponseReturnValue:
    head = OnceForm()
    points = request.form.get("points", "").split() if request.form.get("confirmed") else []
    wrong = ""
    try:
        codes = book_list(
            unit(),
            the_firm().firm_id,
            view.list_id,
            list_words(),
            agreed=request.form.get("agreed", "")[:2000],
            confirmed=points,
            once_token=str(head.once.data or ""),
        )
    except Taken as refusal:
        flash(render(refusal.sentence), "stop")
    except Overtaken as refusal:
        flash(render(refusal.sentence), "caution")
    except Refusal as refusal:
        if refusal.key != "confirmed":
            flash(render(refusal.sentence), "stop")
        wrong = refusal.key
    else:
        said = ngettext("%(num)s set is booked.", "%(num)s sets are booked.", len(codes))
        flash(said, "go")
        return redirect(url_for("trade.booked", list_id=view.list_id), 303)
    fresh = _view(view.list_id)
    form = list_form(fresh)
    if wrong == "confirmed":
        form.head.add_error("confirmed", _("Read these points, then tick the box."))
    return make_response(_list_page(fresh, form), WRONG)


def _view(list_id: int) -> ListView:
    return list_view.list_view(unit(), the_firm().firm_id, list_id, list_words())


def _list_page(view: ListView, form: ListForm, more: TableForm | None = None) -> str:
    return render_template(
        "trade/list.html",
        firm=the_firm(),
        view=view,
        form=form,
        more=more or TableForm(formdata=None),
        rows=list(zip(view.sets, form.rows, strict=True)),
        words=suggestions(),
        slot_name=name_of,
        points=" ".join(sorted(one.key for one in view.to_confirm)),
        once=fresh_token(),
    )


def _slips_page(list_id: int) -> str:
    firm = the_firm()
    return render_template(
        "trade/slips.html",
        firm=firm,
        lines=jobs_view.slips(unit(), firm.firm_id, list_id),
        list_id=list_id,
        qr=qr.svg,
        printed_at=now(),
    )


def _cells(view: ListView) -> list[dict[ListColumn, str]]:
    return [dict(one.row.cells) for one in view.sets]


def _columns() -> list[ListColumn]:
    return [one for one in ListColumn if one is not ListColumn.REST]


def _example_powder() -> Powder:
    """Return a powder of ours for the example: one in stock that has a RAL number, if any."""
    stock = shop().stock
    plain = [p for gloss in Gloss for p in powders_for(System.SINGLE, gloss, stock)]
    known = [p for p in plain if p.ral and p.stock_kg > 0]
    return (known or plain or list(stock.values()))[0]


def _tell(found: ReadList) -> None:
    """Say what of a table was not taken in."""
    if found.ignored:
        flash(_("These columns were left out: %(names)s.", names=", ".join(found.ignored)[:200]))
    if found.left_off:
        said = ngettext(
            "%(num)s row was left out: a list has up to %(most)s.",
            "%(num)s rows were left out: a list has up to %(most)s.",
            found.left_off,
            most=MOST_ROWS,
        )
        flash(said, "caution")
