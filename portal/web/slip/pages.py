"""Papers behind the customer's link, on screen and as PDF: slip, tags, inspection sheet, guide."""

from collections.abc import Iterator
from typing import Any, TypeVar

from flask import Response, render_template, request, url_for
from flask.typing import ResponseReturnValue

from portal.notices.calendar import drop_off_calendar
from portal.orders.customer.inspection_view import InspectionSheet, sheet
from portal.orders.customer.slip_view import Slip, drop_off_behind, slip
from portal.orders.kernel.refit_guide import Refit, refit
from portal.web.kit.i18n import measures
from portal.web.kit.paper.printing import Paper, as_pdf, paper_asked
from portal.web.kit.paper.qr import svg
from portal.web.kit.request_context import unit

AnyPaper = TypeVar("AnyPaper", Slip, InspectionSheet, Refit)
FITS = ("roomy", "tight", "small")
# how many lines of print an order may have before the next, denser setting is tried first
ROOMY, TIGHT, MOST_LINES = 24, 34, 10


def _of_customer(paper: AnyPaper) -> AnyPaper:
    """Return a paper, to be shown in the units in which its customer reads."""
    measures.follow(paper.units)
    return paper


def show_slip(token: str) -> ResponseReturnValue:
    view = _of_customer(slip(unit(), token))
    return _slip_page(view, _first_fit(view))


def slip_pdf(token: str) -> ResponseReturnValue:
    """Return the slip as a PDF of one page, A4 or US Letter."""
    view = _of_customer(slip(unit(), token))
    return as_pdf(_denser_slips(view), f"{view.shown_code}-slip.pdf")


def show_tags(token: str) -> ResponseReturnValue:
    """Show one tag per part: a sheet to cut, or a roll of 62 mm (`?on=roll`)."""
    view = _of_customer(slip(unit(), token))
    own: dict[str, Any] = {"token": view.token}
    links = {
        "back": url_for("slip.show_slip", **own),
        "sheet": url_for("slip.show_tags", **own),
        "roll": url_for("slip.show_tags", **own, on="roll"),
        "a4": url_for("slip.tags_pdf", **own, size="a4"),
        "letter": url_for("slip.tags_pdf", **own, size="letter"),
        "roll_pdf": url_for("slip.tags_pdf", **own, size="roll"),
    }
    roll = request.args.get("on") == "roll"
    return render_template("slip/tags.html", slip=view, qr=svg, links=links, roll=roll)


def tags_pdf(token: str) -> ResponseReturnValue:
    """Return the tags as a PDF: `?size=a4`, `letter` or `roll`."""
    view = _of_customer(slip(unit(), token))
    roll = paper_asked() is Paper.ROLL
    page = render_template("slip/tags.html", slip=view, qr=svg, links=None, roll=roll)
    return as_pdf([page], f"{view.shown_code}-tags.pdf")


def _first_fit(view: Slip) -> str:
    """Estimate how dense the page must be set: only a PDF can be measured."""
    strip = len(view.sets) if len(view.sets) < 3 else (len(view.sets) + 1) // 2
    lines = 2 * len(view.sets) + 2 * len(view.yours) + len(view.before) + 6
    height = max(_price_lines(view), lines) + 7 * strip
    return FITS[(height > ROOMY) + (height > TIGHT)]


def _all_lines(view: Slip) -> bool:
    """Return whether the price is short enough to be printed line by line."""
    return view.quote is not None and len(view.quote.lines) <= MOST_LINES


def _price_lines(view: Slip) -> int:
    if view.quote is None:
        return 0
    return len(view.quote.lines) if _all_lines(view) else len(view.sets) + len(view.other_lines)


def _denser_slips(view: Slip) -> Iterator[str]:
    for fit in FITS[FITS.index(_first_fit(view)) :]:
        yield _slip_page(view, fit)


def _slip_page(view: Slip, fit: str) -> str:
    return render_template(
        "slip/slip.html",
        slip=view,
        fit=fit,
        all_lines=_all_lines(view),
        qr=svg,
        links=_slip_links(view),
    )


def _slip_links(view: Slip) -> dict[str, Any]:
    token = view.token
    return {
        "status": url_for("status.show", token=token),
        "a4": url_for("slip.slip_pdf", token=token, size="a4"),
        "letter": url_for("slip.slip_pdf", token=token, size="letter"),
        "calendar": url_for("slip.drop_off", token=token),
        "tags": url_for("slip.show_tags", token=token),
    }


def show_sheet(token: str) -> ResponseReturnValue:
    return _sheet_page(_of_customer(sheet(unit(), token)))


def sheet_pdf(token: str) -> ResponseReturnValue:
    view = _of_customer(sheet(unit(), token))
    return as_pdf([_sheet_page(view)], f"{view.code}-inspection.pdf")


def _sheet_page(view: InspectionSheet) -> str:
    links = {
        "status": url_for("status.show", token=view.token),
        "a4": url_for("slip.sheet_pdf", token=view.token, size="a4"),
        "letter": url_for("slip.sheet_pdf", token=view.token, size="letter"),
    }
    return render_template("slip/inspection.html", sheet=view, links=links)


def show_guide(token: str) -> ResponseReturnValue:
    return _guide_page(_of_customer(refit(unit(), token)), "roomy")


def guide_pdf(token: str) -> ResponseReturnValue:
    view = _of_customer(refit(unit(), token))
    return as_pdf(_denser_guides(view), f"{view.code}-refit.pdf")


def _denser_guides(view: Refit) -> Iterator[str]:
    # what is too much for one page even set tight is read more easily on two
    for fit in ("roomy", "tight", "roomy"):
        yield _guide_page(view, fit)


def _guide_page(view: Refit, fit: str) -> str:
    links = {
        "status": url_for("status.show", token=view.token),
        "a4": url_for("slip.guide_pdf", token=view.token, size="a4"),
        "letter": url_for("slip.guide_pdf", token=view.token, size="letter"),
    }
    return render_template("slip/refit.html", guide=view, fit=fit, links=links)


def drop_off(token: str) -> ResponseReturnValue:
    """Return the drop-off as an iCalendar file (RFC 5545), the same as in the letter."""
    answer = Response(drop_off_calendar(drop_off_behind(unit(), token)), mimetype="text/calendar")
    answer.headers["Content-Disposition"] = 'attachment; filename="drop-off.ics"'
    return answer
