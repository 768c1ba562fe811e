"""Prices, week, stations, country and works: shown, and changed from a day on."""

from collections.abc import Sequence
from typing import Any

from flask import make_response, redirect, render_template, request, url_for
from flask_babel import gettext as _

from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.office import closures, documents
from portal.orders.office.closures import ClosureHit
from portal.orders.office.documents import Change, Document
from portal.orders.planning.calibration import what_is_learned
from portal.shop.roles import Role
from portal.shop.scheduling.calibration import ENOUGH
from portal.shop.states import DocumentKind
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import local
from portal.web.kit.request_context import number_of, unit
from portal.web.office import filled, sheets
from portal.web.office.document_forms import DocumentForm, day_of, form_for
from portal.web.office.editions import save_edition


@require_role(Role.OFFICE)
@checks_its_form
def document(kind: str) -> Any:
    """Show a document as a sheet; save it as a new edition."""
    here = unit()
    edition = request.args.get("edition", "")
    view = documents.document(here, kind, number_of(edition) or None)
    typed = request.form if request.method == "POST" else None
    sheet = sheets.sheet_of(kind, view.body, typed)
    form = form_for(kind, sheet)
    hits: Sequence[ClosureHit] = ()
    if typed is None:
        form.expected_edition_id.data = str(documents.newest(here, kind))
        if any(one.book_id == view.book_id for one in view.to_come):
            form.from_day.data = local(view.effective_from).isoformat()[:10]
    elif (
        form.validate() and not (hits := _hits(kind, view, form)) and _save(kind, view, form, sheet)
    ):
        return redirect(url_for("office.document", kind=kind), code=303)
    page = render_template(
        "office/document.html",
        kind=kind,
        view=view,
        sheet=sheet,
        form=form,
        title=sheets.title_of(kind),
        learned=what_is_learned(here) if kind == "stations" else None,
        enough=ENOUGH,
        hits=hits,
    )
    return make_response(page, 422 if form.errors else 200)


@require_role(Role.OFFICE)
def editions(kind: str) -> Any:
    """Show the changes between editions."""
    here = unit()
    view = documents.document(here, kind)
    bodies = [documents.document(here, kind, one.book_id).body for one in view.history]
    differences = [
        documents.changes(bodies[n + 1], body) if n + 1 < len(bodies) else ()
        for n, body in enumerate(bodies)
    ]
    named_changes = [[(sheets.named(kind, one.path), one) for one in made] for made in differences]
    pairs = list(zip(view.history, named_changes, strict=True))
    return render_template(
        "office/editions.html", kind=kind, editions=pairs, title=sheets.title_of(kind)
    )


def _hits(kind: str, view: Document, form: DocumentForm) -> Sequence[ClosureHit]:
    """Return whom a new week hits and the page has not shown yet."""
    if kind != DocumentKind.WEEK:
        return ()
    body, _rows = filled.parse(kind, view.body, request.form)
    try:
        hits = closures.hit_by(unit(), body, day_of(form))
    except Refused:  # the day; saving says so beside it
        return ()
    mark = closures.mark_of(hits) if hits else ""
    if form.errors or form.reached.data == mark:
        return ()
    form.reached.raw_data, form.reached.data = None, mark
    return hits


def _save(kind: str, view: Document, form: DocumentForm, sheet: sheets.PrintSheet) -> bool:
    body, rows = filled.parse(kind, view.body, request.form)
    day = day_of(form)
    if form.errors:
        return False

    def field_of(key: str) -> str:
        cell = sheets.cell_of(sheet, key, rows)
        return cell.name if cell else key

    return save_edition(
        form,
        kind,
        lambda here, **more: _put(here, kind, body, from_day=day, **more),
        _counted,
        in_words=lambda sentence: _in_words(kind, sentence),
        field_of=field_of,
    )


def _put(here: UnitOfWork, kind: str, body: dict[str, Any], **more: Any) -> Sequence[Change]:
    if kind == DocumentKind.WEEK:
        return closures.put_week(here, body, **more)
    return documents.put_document(here, kind, body, **more)


def _counted(made: Sequence[Change]) -> str:
    if len(made) == 1:
        return str(_("Saved: one change."))
    return str(_("Saved: %(n)s changes.", n=len(made)))


def _in_words(kind: str, sentence: Message) -> Message:
    """Name a colleague's changes as the sheet does."""
    made: tuple[Change, ...] = sentence.values.get("made", ())
    listed = "; ".join(
        f"{sheets.named(kind, one.path)}: {one.before} → {one.after}" for one in made
    )
    return (
        Message.counted(sentence.msgid, sentence.many, {**sentence.values, "listed": listed})
        if listed
        else sentence
    )
